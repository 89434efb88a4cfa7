"""Recordings against what was promised, and files of one channel against each other."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime

from asfound.calc.timelines import seams
from asfound.jobs.prove_stamps import with_stamps
from asfound.model.finding import (
    Expectation,
    ExpectedChannel,
    Finding,
    Kind,
    ProofVerdict,
    Recording,
)
from asfound.sources import SILENCE_LEVEL

SAYS = "expectation"
"""Source of limits that the expectation sets."""

KEY_TOLERANCE = 0.25
"""Coders put key pictures out of turn where scenes change; share either way (own choice)."""

CODECS = (
    ("h264", ("264", "avc")),
    ("hevc", ("265", "hevc", "hvc1", "hev1")),
    ("mjpeg", ("mjpeg", "mjpg", "motionjpeg")),
    ("mpeg4", ("mpeg4", "mp4v")),
)
"""One name for a codec, and what ways to write it contain (ITU-T H.264 and H.265, ISO 14496)."""


def codec_name(text: str) -> str:
    """One name for a codec however it and its profile are written; unknown ones as they are."""
    plain = "".join(letter for letter in text.casefold() if letter.isalnum())
    for name, ways in CODECS:
        if any(way in plain for way in ways):
            return name
    return plain


def as_expected(
    recording: Recording, expected: ExpectedChannel, expectation: Expectation, audio: bool
) -> Iterator[Finding]:
    """Findings where size, rate, bit rate, codec or sound are not as expected."""
    end = recording.duration_s or 0.0
    if expected.width and expected.height:
        wanted, got = (expected.width, expected.height), (recording.width, recording.height)
        if wanted != got:
            note = f"{got[0]}x{got[1]} instead of {wanted[0]}x{wanted[1]}"
            area, limit = float(got[0] * got[1]), float(wanted[0] * wanted[1])
            yield Finding(Kind.WRONG_SIZE, 0.0, end, area, limit, "px", SAYS, "", note)
    for kind, measured, figure, tolerance, unit in (
        (
            Kind.WRONG_RATE, recording.rate_fps, expected.rate_fps,
            expectation.rate_tolerance, "1/s",
        ),
        (
            Kind.WRONG_BITRATE, recording.bitrate_bps, expected.bitrate_bps,
            expectation.bitrate_tolerance, "bit/s",
        ),
    ):  # fmt: skip
        if figure and measured is not None and abs(measured - figure) > tolerance * figure:
            limit = figure * (1 - tolerance if measured < figure else 1 + tolerance)
            note = f"{measured:.4g} {unit} instead of {figure:.4g}, {tolerance:.0%} either way"
            yield Finding(kind, 0.0, end, measured, limit, unit, SAYS, "", note)
    if expected.codec and codec_name(expected.codec) != codec_name(recording.codec):
        note = f"{recording.codec} instead of {expected.codec}"
        yield Finding(Kind.WRONG_CODEC, 0.0, end, None, None, "", SAYS, "", note)
    yield from _key_interval(recording, expected, end)
    if expected.audio is True and audio and recording.sound_db is not None:
        yield from _silence(recording.sound_db, end)
    if expected.audio is True and not audio:
        note = "no sound is recorded"
        yield Finding(Kind.NO_AUDIO, 0.0, end, 0.0, 1.0, "streams", SAYS, "", note)
    if expected.audio is False and audio:
        note = "sound is recorded though it should be off"
        yield Finding(Kind.UNWANTED_AUDIO, 0.0, end, 1.0, 0.0, "streams", SAYS, "", note)


def _key_interval(recording: Recording, expected: ExpectedChannel, end: float) -> Iterator[Finding]:
    wanted, got = expected.key_interval_s, recording.key_interval_s
    if wanted and got is not None and abs(got - wanted) > KEY_TOLERANCE * wanted:
        limit = wanted * (1 - KEY_TOLERANCE if got < wanted else 1 + KEY_TOLERANCE)
        note = f"a key picture each {got:.3g} s instead of {wanted:.3g} s"
        yield Finding(Kind.WRONG_KEY_INTERVAL, 0.0, end, got, limit, "s", SAYS, "", note)


def _silence(level: float, end: float) -> Iterator[Finding]:
    if level <= SILENCE_LEVEL.value:
        note = "sound is recorded, but all samples of it are silent"
        source, limit = SILENCE_LEVEL.source.cite(), SILENCE_LEVEL.value
        yield Finding(Kind.SILENT_AUDIO, 0.0, end, level, limit, "dB", source, "", note)


def not_measured(recording: Recording, expected: ExpectedChannel) -> Iterator[str]:
    """What was expected and could not be measured."""
    if not recording.width:
        return
    if expected.rate_fps and recording.rate_fps is None:
        yield "its rate cannot be measured: the file states no times"
    if expected.bitrate_bps and recording.bitrate_bps is None:
        yield "its bit rate cannot be measured"
    if expected.key_interval_s and recording.key_interval_s is None:
        yield "its key-picture interval cannot be measured: there is one key picture only"


def with_seams(
    recordings: Sequence[Recording], max_gap_s: float, now: datetime | None = None
) -> tuple[Recording, ...]:
    """The recordings with gaps between files of one channel, and doubts about their order.

    Stamps that a wrong clock made, later than ``now`` or years from the others, are findings of
    their own and make no gap.
    """
    stamped, timelines = with_stamps(recordings, now)
    out = list(stamped)
    channels: dict[tuple[int, int], list[int]] = defaultdict(list)
    for number, (recording, timeline) in enumerate(zip(stamped, timelines, strict=True)):
        if recording.channel is not None:
            channels[recording.channel, timeline].append(number)
    for (channel, _), numbers in channels.items():
        if len(numbers) > 1:
            _join(out, channel, numbers, max_gap_s)
    return tuple(out)


def _join(out: list[Recording], channel: int, numbers: Sequence[int], max_gap_s: float) -> None:
    timed = [(out[n].start, out[n].duration_s) for n in numbers]
    known = [
        (number, start, duration)
        for number, (start, duration) in zip(numbers, timed, strict=True)
        if start is not None and duration is not None
    ]
    for number in set(numbers) - {number for number, _, _ in known}:
        if out[number].start is None:
            _doubt(out, number, f"no start time: gaps on channel {channel} cannot be judged")
    epoch = datetime(1970, 1, 1, tzinfo=UTC)
    pieces = [((start - epoch).total_seconds(), duration) for _, start, duration in known]
    for seam in seams(pieces, max_gap_s):
        before, after = known[seam.before][0], known[seam.after][0]
        duration = known[seam.before][2]
        if seam.seconds < 0:
            _doubt(
                out, after,
                f"starts {-seam.seconds:.0f} s before {out[before].file} ends: the clock jumped, "
                f"or one of them is not channel {channel}",
            )  # fmt: skip
            continue
        gap = Finding(
            Kind.GAP, duration, duration + seam.seconds, seam.seconds, max_gap_s, "s", SAYS, "",
            f"nothing recorded for {seam.seconds:.0f} s before {out[after].file}",
        )  # fmt: skip
        out[before] = replace(out[before], findings=(*out[before].findings, gap))


def _doubt(out: list[Recording], number: int, line: str) -> None:
    out[number] = replace(out[number], unclear=(*out[number].unclear, line))


def verdict_of(recordings: Sequence[Recording], missing: Sequence[int]) -> ProofVerdict:
    """Faults before unclear before records: what cannot be told never counts as fine."""
    if missing or any(recording.findings for recording in recordings):
        return ProofVerdict.FAULTS
    if not recordings or any(recording.unclear for recording in recordings):
        return ProofVerdict.UNCLEAR
    return ProofVerdict.RECORDS
