"""Findings and proof: what the recordings themselves show."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from asfound.model.burned_clock import BurnedClock


class Kind(StrEnum):
    """Kinds of finding in a proof (asfound-proof/1)."""

    BLACK = "black"
    NO_SIGNAL = "no-signal"
    FROZEN = "frozen"
    BLURRED = "blurred"
    COVERED = "covered"
    OVEREXPOSED = "overexposed"
    UNDEREXPOSED = "underexposed"
    NOISY = "noisy"
    ROLLING = "rolling"
    MOVED = "moved"
    GAP = "gap"
    TIME_JUMP = "time-jump"
    CLOCK_OFFSET = "clock-offset"
    CLOCK_JUMP = "clock-jump"
    WRONG_SIZE = "wrong-size"
    WRONG_RATE = "wrong-rate"
    WRONG_BITRATE = "wrong-bitrate"
    WRONG_CODEC = "wrong-codec"
    WRONG_KEY_INTERVAL = "wrong-key-interval"
    WRONG_EXTENSION = "wrong-extension"
    NO_AUDIO = "no-audio"
    SILENT_AUDIO = "silent-audio"
    UNWANTED_AUDIO = "unwanted-audio"
    DAMAGED = "damaged"
    EMPTY = "empty"


class ProofVerdict(StrEnum):
    """Whether the recordings prove what was promised; "unclear" never counts as fine."""

    RECORDS = "records"
    FAULTS = "faults"
    UNCLEAR = "unclear"


@dataclass(frozen=True, slots=True)
class Finding:
    """A measured value against a limit. Times in seconds from the start of the file.

    ``evidence`` is the SHA-256 of a stored picture, or "" when there is none; ``note`` says
    in one line what a person would say.
    """

    kind: Kind
    start_s: float
    end_s: float
    measured: float | None
    limit: float | None
    unit: str
    source: str
    evidence: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Recording:
    """One video stream of one file. ``channel`` is None when it could not be told.

    ``start`` is aware, or None when neither file nor name gives one. ``unclear`` lists, one
    line each, what could not be judged. ``thumbnails`` are (second, SHA-256) of stored JPEGs
    spread over the recording. ``key_interval_s``: usual time from key picture to key picture.
    ``sound_db``: level of the loudest sample of its sound [dB re full scale].
    ``clock``: the clock burned into its pictures; None: there is none, or none was looked for.
    """

    file: str
    channel: int | None
    codec: str
    width: int
    height: int
    rate_fps: float | None
    duration_s: float | None
    bitrate_bps: float | None
    start: datetime | None
    findings: tuple[Finding, ...]
    unclear: tuple[str, ...] = ()
    thumbnails: tuple[tuple[float, str], ...] = ()
    key_interval_s: float | None = None
    sound_db: float | None = None
    clock: BurnedClock | None = None


@dataclass(frozen=True, slots=True)
class ExpectedChannel:
    """What one channel should record; None = not said."""

    channel: int
    name: str = ""
    width: int | None = None
    height: int | None = None
    rate_fps: float | None = None
    bitrate_bps: float | None = None
    codec: str | None = None
    audio: bool | None = None
    key_interval_s: float | None = None


@dataclass(frozen=True, slots=True)
class Expectation:
    """What a proof is held against. Tolerances are relative (0.1 = 10 %), gap in seconds."""

    channels: tuple[ExpectedChannel, ...] = ()
    rate_tolerance: float = 0.1
    bitrate_tolerance: float = 0.5
    max_gap_s: float = 2.0


@dataclass(frozen=True, slots=True)
class Proof:
    """The verdict over all recordings; ``missing_channels`` were expected and not found."""

    verdict: ProofVerdict
    recordings: tuple[Recording, ...]
    missing_channels: tuple[int, ...] = ()

    def findings(self) -> tuple[tuple[Recording, Finding], ...]:
        """Every finding with the recording it belongs to."""
        return tuple((rec, finding) for rec in self.recordings for finding in rec.findings)
