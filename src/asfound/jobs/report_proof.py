"""What was proved: what each recording is, what was expected, findings and what is unclear."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from asfound.jobs.footage_strip import NumberedFinding, StripLook, length_of, numbered, strips
from asfound.jobs.prove_clock_words import clock_tone, clock_words
from asfound.jobs.report_texts import (
    KIND_WORDS,
    NOT_KNOWN,
    NOT_STATED,
    Row,
    codec_text,
    count,
    measured_text,
    number_text,
    seconds_text,
    shape_of,
    when,
)
from asfound.model.finding import Expectation, ExpectedChannel, Kind, Proof, ProofVerdict, Recording
from asfound.units import bitrate_text

OFF = {
    Kind.WRONG_SIZE: "size",
    Kind.WRONG_RATE: "rate",
    Kind.WRONG_BITRATE: "bitrate",
    Kind.WRONG_CODEC: "codec",
}
"""Findings that concern one figure of the table."""


def proof_data(
    proof: Proof | None,
    expectation: Expectation | None,
    channels: Sequence[int],
    look: StripLook,
) -> Row:
    """The section's data; ``channels`` are the cameras that should record."""
    if proof is None:
        return {"made": False}
    expected = {item.channel: item for item in expectation.channels} if expectation else {}
    rows = [
        (_order(recording), _facts(recording, expected.get(recording.channel or -1), look))
        for recording in proof.recordings
    ]
    rows += [((row_channel, "", ""), row) for row_channel, row in _absent(proof, channels, look)]
    return {
        "made": True,
        "verdict": proof.verdict.value,
        "facts": [row for _, row in sorted(rows, key=lambda pair: pair[0])],
        "strips": strips(proof.recordings, look),
        "findings": [_finding(item, proof.recordings, look) for item in numbered(proof.recordings)],
        "unclear": unclear_lines(proof, channels),
        "clocks": clock_rows(proof.recordings, look),
        "undrawn": [rec.file for rec in proof.recordings if length_of(rec) is None],
        "limits": _limits(expectation),
    }


def unseen_channels(proof: Proof, channels: Sequence[int]) -> tuple[int, ...]:
    """Cameras that should record but have no recording, and were not reported missing."""
    seen = {recording.channel for recording in proof.recordings} | set(proof.missing_channels)
    return tuple(channel for channel in channels if channel not in seen)


def unclear_lines(proof: Proof, channels: Sequence[int]) -> list[str]:
    """What could not be judged, one line each, naming the recording."""
    lines = [
        f"{_who(recording)}: {line}" for recording in proof.recordings for line in recording.unclear
    ]
    lines += [
        f"{recording.file}: which channel it belongs to could not be told"
        for recording in proof.recordings
        if recording.channel is None and not any("channel" in line for line in recording.unclear)
    ]
    lines += [
        f"camera {channel}: no recording of it was looked at"
        for channel in unseen_channels(proof, channels)
    ]
    if proof.verdict is ProofVerdict.UNCLEAR and not lines:
        lines.append("the recordings as a whole: the proof says “unclear” and gives no reason")
    return lines


def clock_rows(recordings: Sequence[Recording], look: StripLook) -> list[Row]:
    """What came of each burned-in clock that was found, in the table's order."""
    return [
        {
            "channel": "?" if recording.channel is None else str(recording.channel),
            "name": look.names.get(recording.channel or -1, ""),
            "file": recording.file,
            "clock": _clock(recording),
        }
        for recording in sorted(recordings, key=_order)
        if recording.clock is not None
    ]


def _clock(recording: Recording) -> Row | None:
    """{"tone", "text", "more"} of the recording's burned-in clock."""
    if recording.clock is None:
        return None
    return {
        "tone": clock_tone(recording),
        "text": clock_words(recording.clock),
        "more": "; ".join(recording.clock.notes),
    }


def _order(recording: Recording) -> tuple[int, str, str]:
    start = recording.start.isoformat() if recording.start else ""
    return (9999 if recording.channel is None else recording.channel, start, recording.file)


def _who(recording: Recording) -> str:
    if recording.channel is None:
        return recording.file
    return f"camera {recording.channel} ({recording.file})"


def _facts(recording: Recording, expected: ExpectedChannel | None, look: StripLook) -> Row:
    state, tone = "records", "good"
    if recording.findings:
        state, tone = count(len(recording.findings), "finding"), "bad"
    elif recording.unclear or recording.channel is None:
        state, tone = "could not be told", "unclear"
    # Measured values that are not there are "not known"; wishes that nobody made, "not stated".
    want = expected or ExpectedChannel(recording.channel or 0)
    name = look.names.get(recording.channel, "") if recording.channel is not None else ""
    return {
        "channel": "?" if recording.channel is None else str(recording.channel),
        "name": name,
        "file": recording.file,
        "codec": [codec_text(recording.codec) or NOT_KNOWN, codec_text(want.codec or NOT_STATED)],
        "size": [
            _size(recording.width, recording.height, NOT_KNOWN),
            _size(want.width, want.height, NOT_STATED),
        ],
        "rate": [_rate(recording.rate_fps, NOT_KNOWN), _rate(want.rate_fps, NOT_STATED)],
        "bitrate": [_bits(recording.bitrate_bps, NOT_KNOWN), _bits(want.bitrate_bps, NOT_STATED)],
        "length": NOT_KNOWN if recording.duration_s is None else seconds_text(recording.duration_s),
        "start": f"from {when(recording.start, look.local, seconds=True)}"
        if recording.start
        else "start not known",
        "off": [OFF[finding.kind] for finding in recording.findings if finding.kind in OFF],
        "state": state,
        "tone": tone,
        "clock": _clock(recording),
    }


def _absent(proof: Proof, channels: Sequence[int], look: StripLook) -> list[tuple[int, Row]]:
    found = [(channel, "no recording found", "bad") for channel in proof.missing_channels]
    found += [(c, "not looked at", "unclear") for c in unseen_channels(proof, channels)]
    return [
        (
            channel,
            {
                "channel": str(channel),
                "name": look.names.get(channel, ""),
                "state": state,
                "tone": tone,
            },
        )
        for channel, state, tone in found
    ]


def _finding(item: NumberedFinding, recordings: Sequence[Recording], look: StripLook) -> Row:
    finding, recording = item.finding, recordings[item.recording]
    clock = ""
    if recording.start is not None:
        first = (recording.start + timedelta(seconds=finding.start_s)).astimezone(look.local)
        last = (recording.start + timedelta(seconds=finding.end_s)).astimezone(look.local)
        clock = f"{first.strftime('%H:%M:%S')} to {last.strftime('%H:%M:%S')}"
    return {
        "n": item.number,
        "shape": shape_of(finding.kind),
        "what": KIND_WORDS[finding.kind],
        "channel": "?" if recording.channel is None else str(recording.channel),
        "name": look.names.get(recording.channel, "") if recording.channel is not None else "",
        "file": recording.file,
        "clock": clock,
        "within": f"{seconds_text(finding.start_s)} to {seconds_text(finding.end_s)}",
        "note": finding.note,
        "measured": measured_text(finding.measured, finding.unit),
        "limit": measured_text(finding.limit, finding.unit),
        "source": finding.source,
        "shot": look.album.whole(finding.evidence) if finding.evidence else None,
    }


def _limits(expectation: Expectation | None) -> str:
    if expectation is None:
        return "No expected size, rate or codec was stated; only the pictures themselves count."
    return (
        f"Allowed: picture rate within {number_text(expectation.rate_tolerance * 100)} %, bit rate "
        f"within {number_text(expectation.bitrate_tolerance * 100)} %, no gap longer than "
        f"{number_text(expectation.max_gap_s)}\u00a0s."
    )


def _size(width: int | None, height: int | None, otherwise: str) -> str:
    return f"{width} × {height}" if width and height else otherwise


def _rate(fps: float | None, otherwise: str) -> str:
    return otherwise if fps is None else f"{fps:.4g}\u00a0fps"


def _bits(bps: float | None, otherwise: str) -> str:
    return otherwise if bps is None else bitrate_text(bps).replace(" ", "\u00a0")
