"""Which channel a file belongs to and when it starts, from its name. Never a silent guess."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import PurePath

from asfound.errors import UsageError

CHANNEL = re.compile(r"(?<![a-z])(?:channel|chan|ch|camera|cam)[ _.-]*0*([1-9]\d?)(?!\d)", re.I)
"""ch3, cam03, channel-3, CAM_3 ... in a file or folder name (common practice, no source)."""

PARTS = re.compile(r"\{(channel|any|start:(?P<time>[^{}]+))\}")
TIME_CODES = {
    "Y": r"\d{4}", "m": r"\d{2}", "d": r"\d{2}", "H": r"\d{2}", "M": r"\d{2}", "S": r"\d{2}",
    "y": r"\d{2}", "j": r"\d{3}", "f": r"\d{1,6}", "z": r"(?:Z|[+-]\d{2}:?\d{2})", "%": "%",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Named:
    """What a name says: channel (None: nothing, or not one thing), start (aware), and why not."""

    channel: int | None
    start: datetime | None = None
    unclear: str = ""


@dataclass(frozen=True, slots=True)
class Pattern:
    """A name pattern, e.g. ``{channel}_{start:%Y%m%dT%H%M%SZ}``; see docs/proof.md."""

    text: str
    regex: re.Pattern[str]
    time: str
    utc: bool
    folders: int

    def read(self, path: PurePath) -> Named:
        """Channel and start of a file; a name that does not fit is unclear."""
        parts = (*path.parts[-1 - self.folders : -1], path.stem)
        found = self.regex.fullmatch("/".join(parts))
        if found is None:
            return Named(None, None, f"its name does not fit the pattern {self.text}")
        groups = found.groupdict()
        channel = int(groups["channel"]) if groups.get("channel") else None
        if not self.time:
            return Named(channel)
        try:
            start = datetime.strptime(groups["start"], self.time)
        except ValueError:
            return Named(channel, None, f"{groups['start']} in its name is no time")
        return Named(channel, start.replace(tzinfo=UTC) if self.utc else start)


def parse_pattern(text: str) -> Pattern:
    """The pattern as a matcher. Raises UsageError for a pattern that cannot work."""
    regex, time, at = "", "", 0
    for part in PARTS.finditer(text):
        regex += re.escape(text[at : part.start()])
        at = part.end()
        if part["time"]:
            if time:
                raise UsageError(f"--pattern {text}: {{start:...}} may stand once; remove one")
            time = part["time"]
            regex += f"(?P<start>{_time_regex(time, text)})"
        else:
            regex += r"0*(?P<channel>\d{1,2})" if part[1] == "channel" else "[^/]*"
    rest = text[at:]
    regex += re.escape(rest)
    if "{" in PARTS.sub("", text) or "}" in PARTS.sub("", text):
        raise UsageError(
            f"--pattern {text}: only {{channel}}, {{start:%Y...}} and {{any}} are known; "
            "docs/proof.md has examples"
        )
    if text.count("{channel}") > 1 or not (time or "{channel}" in text):
        raise UsageError(f"--pattern {text}: name {{channel}} once, or {{start:...}}, or both")
    utc = bool(time) and "%z" not in time
    if utc and not (time.endswith("Z") or re.match(r"Z", rest)):
        raise UsageError(
            f"--pattern {text}: the time has no zone; end it with Z if it is UTC, or use %z"
        )
    return Pattern(text, re.compile(regex), time, utc, text.count("/"))


def _time_regex(time: str, text: str) -> str:
    regex, at = "", 0
    while at < len(time):
        if time[at] != "%":
            regex += re.escape(time[at])
            at += 1
            continue
        code = time[at + 1 : at + 2]
        if code not in TIME_CODES:
            known = " ".join(f"%{name}" for name in TIME_CODES)
            raise UsageError(f"--pattern {text}: %{code} is not known here; known are {known}")
        regex += TIME_CODES[code]
        at += 2
    return regex


def read_name(path: PurePath) -> Named:
    """The channel by common ways to name files; the nearest folder speaks if the name does not."""
    for name in (path.stem, *reversed(path.parts[:-1])):
        found = sorted({int(number) for number in CHANNEL.findall(name)})
        if len(found) == 1:
            return Named(found[0])
        if found:
            several = " and ".join(str(number) for number in found)
            return Named(None, None, f"its name speaks of channels {several}; give --pattern")
    return Named(None, None, "which channel it is cannot be told from its name; give --pattern")
