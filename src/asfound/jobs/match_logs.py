"""How far a recorder's clock is off, by its speed log against one whose clock is known."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from asfound.calc.clock_match import LEAST_MARGIN, LEAST_R, Match, Speeds, match_clocks
from asfound.errors import UsageError
from asfound.jobs.watch_speed import speeds_of
from asfound.model.track_log import TrackLog

DAY_S = 86_400.0
LATENCY = (
    "receivers tell speeds late, by up to 1.5 s on phones: the recorder may be ahead by as much "
    "more as the reference is late, and by less where its own speeds come late"
)
"""recorder - true = offset + lag of the reference - lag of the recorder's own speeds."""


class MatchFault(StrEnum):
    """What is found about a clock."""

    UNKNOWN = "could-not-tell"
    OFF = "clock-off"


@dataclass(frozen=True, slots=True)
class MatchFinding:
    """``measured`` against ``limit``, and what a person would say."""

    kind: MatchFault
    measured: float
    limit: float
    note: str


@dataclass(frozen=True, slots=True)
class MatchLogs:
    """Two logs of one drive; offsets up to ``most_s`` either way are looked at; more than
    ``allowed_s`` is a finding (None: nothing said)."""

    recorder: TrackLog
    reference: TrackLog
    most_s: float = 3600.0
    allowed_s: float | None = None


@dataclass(frozen=True, slots=True)
class Matched:
    """``match`` None: the logs share too little; believed only where it is ``sure``."""

    match: Match | None
    sure: bool
    findings: tuple[MatchFinding, ...]


def match_logs(request: MatchLogs) -> Matched:
    """The offset: recorder minus reference. Raises UsageError for a log without speeds."""
    logs = []
    for log in (request.recorder, request.reference):
        track, _ = speeds_of(log.track)
        logs.append(Speeds(track.times_s, track.speed_ms))
        if len(track) < 2 or not (track.speed_ms == track.speed_ms).any():
            raise UsageError(
                f"{log.name}: neither speeds nor positions in it; give a log of driving"
            )
    try:
        match = match_clocks(logs[0], logs[1], request.most_s)
    except ValueError as error:
        raise UsageError(f"{request.recorder.name}: {error}") from None
    sure = match is not None and match.sure
    return Matched(match, sure, tuple(_findings(request, match)))


def _apart(request: MatchLogs) -> float:
    """Seconds between the two logs; 0 where they overlap."""
    one, two = request.recorder.track.times_s, request.reference.track.times_s
    return max(0.0, float(two[0] - one[-1]), float(one[0] - two[-1]))


def _findings(request: MatchLogs, match: Match | None) -> list[MatchFinding]:
    if match is None and (apart := _apart(request)) > request.most_s:
        note = (
            f"the logs lie {apart / DAY_S:.1f} days apart, further than was looked: is the "
            "recorder's date right?"
        )
        return [MatchFinding(MatchFault.UNKNOWN, apart, request.most_s, note)]
    if match is None:
        note = (
            "no five minutes of driving are in both logs, at any offset that was looked at: give "
            "longer logs of one drive, or look further"
        )
        return [MatchFinding(MatchFault.UNKNOWN, 0.0, LEAST_R, note)]
    if not match.sure:
        note = (
            f"no offset stands out (r {match.r:.2f}, margin {match.margin:.2f}; more than "
            f"{LEAST_R:g} and {LEAST_MARGIN:g} are wanted): give ten minutes or more of driving in "
            "traffic"
        )
        return [MatchFinding(MatchFault.UNKNOWN, match.r, LEAST_R, note)]
    if request.allowed_s is not None and abs(match.offset_s) > request.allowed_s:
        way = "ahead" if match.offset_s > 0 else "behind"
        note = (
            f"the clock is {abs(match.offset_s):.2f} s {way}, {request.allowed_s:g} s are allowed"
        )
        return [MatchFinding(MatchFault.OFF, match.offset_s, request.allowed_s, note)]
    return []
