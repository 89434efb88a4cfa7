"""`asfound days`: how many days a drive keeps, what it takes for the days that were promised."""

from __future__ import annotations

import json as json_text
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

from asfound.calc.days_kept import Band, Load, Room, around
from asfound.cli import output
from asfound.errors import ExitCode, InputError, NotFound, UsageError
from asfound.jobs.size_storage import (
    Measured,
    SizeStorage,
    Storage,
    measured_loads,
    size_storage,
)
from asfound.units import BYTES, GIB, RATES, TIB, bytes_text, parse_quantity

FORMAT = "asfound-days/1"
PROOF = "asfound-proof/1"
SPREAD = 0.2
"""Either way, for want of measured rates (own choice)."""
FILE_SYSTEM = 0.02
"""Share that the file system's tables take (common practice, no source)."""
CHANNELS = re.compile(r"\s*(\d{1,3})\s*[x×*]\s*(.+)")
SHARE = re.compile(r"\s*(\d{1,3}(?:[.]\d{1,3})?)\s*%\s*")
MOST_PROOF_BYTES = 64 << 20


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="days")(days_command)


def days_command(  # noqa: PLR0913 (an option each)
    drive: Annotated[str, typer.Option(help="The drive as its label says: 1TB, 480GB.")],
    hours: Annotated[float, typer.Option(help="Hours a day that the recorder records.")],
    channels: Annotated[
        list[str] | None,
        typer.Option(metavar="NxRATE", help="Channels and their rate: 4x2Mbit/s. May be repeated."),
    ] = None,
    proof: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Measured rates: what `asfound prove --json` printed."),
    ] = None,
    audio: Annotated[
        str, typer.Option(help="Sound of each channel, unless measured: 64kbit/s.")
    ] = "",
    reserve: Annotated[
        str, typer.Option(help="Kept for events, never overwritten: 50GB or 10%.")
    ] = "0%",
    file_system: Annotated[
        str, typer.Option(help="What the file system's tables take.")
    ] = f"{FILE_SYSTEM:.0%}",
    spread: Annotated[
        str, typer.Option(help="How far rates lie from those given, either way.")
    ] = f"{SPREAD:.0%}",
    promised: Annotated[
        float | None, typer.Option(metavar="DAYS", help="At least so many days were promised.")
    ] = None,
    lawful: Annotated[
        float | None, typer.Option(metavar="DAYS", help="Older recordings have to be deleted.")
    ] = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Days that a drive keeps before it overwrites them, as a band from bad weeks to good ones."""
    if bool(channels) == (proof is not None):
        raise UsageError("say --channels 4x2Mbit/s, or --proof FILE with measured rates")
    if not 0 < hours <= 24:
        raise UsageError(f"--hours {hours:g}: a day has more than 0 and at most 24")
    for name, days in (("--promised", promised), ("--lawful", lawful)):
        if days is not None and not 0 < days < 1e5:
            raise UsageError(f"{name} {days:g} is no number of days")
    size = _quantity(drive, "--drive", BYTES)
    share = SHARE.fullmatch(reserve)
    kept = size * _share(reserve, "--reserve") if share else _quantity(reserve, "--reserve", BYTES)
    room = Room(size, _share(file_system, "--file-system"), kept)
    wide = _share(spread, "--spread")
    if proof is not None:
        loads = measured_loads(_measured(proof), hours, wide)
    else:
        sound = _quantity(audio, "--audio", RATES) if audio else 0.0
        loads = tuple(_load(text, hours, sound, wide) for text in channels or [])
    result = size_storage(SizeStorage(loads, room, promised, lawful))
    if json:
        output.json_out(days_data(loads, room, result))
    else:
        _show(loads, room, result, measured=proof is not None)
        _advise(result, promised)
    if result.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def _quantity(text: str, name: str, units: dict[str, float]) -> float:
    try:
        return parse_quantity(text, units)
    except ValueError as error:
        raise UsageError(f"{name}: {error}") from None


def _share(text: str, name: str) -> float:
    found = SHARE.fullmatch(text)
    if found is None or float(found[1]) >= 100:
        raise UsageError(f"{name} {text!r} is no share below 100%; write 5%")
    return float(found[1]) / 100


def _load(text: str, hours: float, audio: float, spread: float) -> Load:
    found = CHANNELS.fullmatch(text)
    if found is None or not int(found[1]):
        raise UsageError(f"--channels {text!r}: write a number and a rate, 4x2Mbit/s")
    rate = _quantity(found[2], f"--channels {text!r}", RATES)
    return Load(around(rate, spread), hours, int(found[1]), audio)


def _measured(path: Path) -> list[Measured]:
    """Rates in a proof. Raises NotFound, InputError."""
    try:
        if path.stat().st_size > MOST_PROOF_BYTES:
            raise InputError(
                f"{path}: larger than any proof; give what `asfound prove --json` wrote"
            )
        data = json_text.loads(path.read_text("utf-8"))
    except (FileNotFoundError, IsADirectoryError):
        raise NotFound(f"{path}: no such file; give what `asfound prove --json` wrote") from None
    except (OSError, ValueError):
        raise InputError(f"{path}: not readable as JSON; write it with --json") from None
    if not isinstance(data, dict) or data.get("format") != PROOF:
        raise InputError(f"{path}: not a proof ({PROOF}); write it with `asfound prove --json`")
    found = [_of_recording(item) for item in data.get("recordings") or ()]
    rates = [one for one in found if one is not None]
    if not rates:
        raise InputError(f"{path}: no recording in it has a channel, a length and a rate")
    return rates


def _of_recording(item: Any) -> Measured | None:
    if not isinstance(item, dict):
        return None
    channel, seconds, rate = item.get("channel"), item.get("duration_s"), item.get("bitrate_bps")
    if not (isinstance(channel, int) and isinstance(seconds, int | float) and seconds > 0):
        return None
    if not isinstance(rate, int | float) or not 0 < rate < 1e12:
        return None
    return Measured(channel, float(seconds), float(rate))


def days_data(loads: Sequence[Load], room: Room, result: Storage) -> dict[str, object]:
    """The documented form (docs/bench.md)."""
    return {
        "format": FORMAT,
        "drive_bytes": room.drive_bytes,
        "usable_bytes": result.usable_bytes,
        "loads": [
            {
                "channels": load.channels,
                "hours_a_day": load.hours_a_day,
                "rate_bps": _band(load.rate),
                "audio_bps": load.audio_bps,
            }
            for load in loads
        ],
        "bytes_a_day": _band(result.bytes_a_day),
        "days": _band(result.days),
        "drive_bytes_for_promise": result.drive_bytes and _band(result.drive_bytes),
        "rate_share_for_promise": result.rate_share and _band(result.rate_share),
        "findings": [
            {"kind": one.kind, "measured": one.measured, "limit": one.limit, "note": one.note}
            for one in result.findings
        ],
    }


def _band(band: Band) -> list[float]:
    return [band.low, band.likely, band.high]


def _show(loads: Sequence[Load], room: Room, result: Storage, measured: bool) -> None:
    output.table(
        ("Channels", "Mbit/s each", "from", "to", "Sound", "Hours a day"),
        [
            (
                str(load.channels), f"{load.rate.likely / 1e6:.3f}", f"{load.rate.low / 1e6:.3f}",
                f"{load.rate.high / 1e6:.3f}",
                "in it" if measured else f"{load.audio_bps / 1e3:.0f} kbit/s",
                f"{load.hours_a_day:g}",
            )
            for load in loads
        ],
        right=(0, 1, 2, 3, 4, 5),
    )  # fmt: skip
    output.say(
        f"drive {bytes_text(room.drive_bytes)} (a computer shows {_binary(room.drive_bytes)}), "
        f"{bytes_text(result.usable_bytes)} of it overwritten in turn"
    )
    output.say(f"written a day {_spread(result.bytes_a_day, bytes_text)}")
    output.say(f"days kept {_spread(result.days, lambda days: f'{days:.1f}')}", style="bold")


def _advise(result: Storage, promised: float | None) -> None:
    drive, share = result.drive_bytes, result.rate_share
    if promised is not None and drive is not None and share is not None:
        output.say(
            f"for {promised:g} days: a drive of {bytes_text(drive.high)} to be safe "
            f"({bytes_text(drive.likely)} on average), or picture rates at {share.low:.0%} "
            f"({share.likely:.0%}) of these"
        )
    for one in result.findings:
        output.say(f"{one.kind}: {one.note}")


def _binary(size: float) -> str:
    return f"{size / TIB:.2f} TiB" if size >= TIB else f"{size / GIB:.0f} GiB"


def _spread(band: Band, text: Callable[[float], str]) -> str:
    return f"{text(band.likely)} (from {text(band.low)} to {text(band.high)})"
