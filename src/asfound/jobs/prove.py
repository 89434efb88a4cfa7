"""Prove: what the recordings themselves show, held against what was promised."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path

from asfound.calc.plain_text import plain
from asfound.jobs.prove_checks import as_expected, not_measured, verdict_of, with_seams
from asfound.jobs.prove_clock_judge import ClockAsk, check_ask, with_clock
from asfound.jobs.prove_file import Eyes, FileLook
from asfound.jobs.prove_files import Helpers, look_at_files
from asfound.jobs.prove_names import Named, parse_pattern, read_name
from asfound.jobs.prove_references import load_references
from asfound.jobs.prove_stream import Looked
from asfound.jobs.prove_suffix import wrong_suffix
from asfound.model.finding import (
    Expectation,
    ExpectedChannel,
    Finding,
    Kind,
    Proof,
    Recording,
)
from asfound.ports.blobs import Blobs
from asfound.ports.ocr import Ocr
from asfound.ports.pictures import Pictures
from asfound.ports.progress import Progress, silent
from asfound.ports.video import FileFacts, StreamFacts, Video
from asfound.sources import DECODER_ERRORS


@dataclass(frozen=True, slots=True)
class Prove:
    """Recordings to look at: files and folders, what is expected, how the files are named.

    ``pattern`` "" means: channel by common ways to name files, start from the container.
    ``clock``: what burned-in clocks are held against. ``references``: earlier good pictures, one a
    channel, that aim is held against; without any, aim is not looked at. ``whole``: decode every
    picture, which takes many times longer and finds damage that does not show from outside.
    ``now`` (aware): recordings stamped later are of a wrong clock; None: not looked at.
    """

    paths: tuple[Path, ...]
    expectation: Expectation = field(default_factory=Expectation)
    pattern: str = ""
    clock: ClockAsk = field(default_factory=ClockAsk)
    references: tuple[Path, ...] = ()
    whole: bool = False
    now: datetime | None = None


def prove(
    request: Prove,
    *,
    video: Video,
    pictures: Pictures,
    blobs: Blobs | None = None,
    progress: Progress = silent,
    helpers: Helpers | None = None,
    ocr: Ocr | None = None,
) -> Proof:
    """Look at every recording and judge. Without ``blobs`` no pictures are kept; without
    ``helpers`` files are looked at one after the other, all of them; without ``ocr`` burned-in
    clocks are not read.

    Raises NotFound (no such path), RecordingError (a folder without recordings), UsageError (a
    pattern that cannot work), StorageError, Interrupted. A file that is no recording, or that
    the program which looks at it does not survive, is a finding.
    """
    pattern = parse_pattern(request.pattern) if request.pattern else None
    check_ask(request.clock)
    earlier = None
    if request.references:
        earlier = load_references(request.references, pictures, pattern)
    eyes = Eyes(
        video,
        pictures,
        request.expectation.max_gap_s,
        blobs is not None,
        ocr,
        earlier,
        request.whole,
    )
    recordings: dict[int, tuple[Recording, ...]] = {}
    for item, seen in look_at_files(
        request.paths, eyes, blobs=blobs, progress=progress, helpers=helpers or Helpers()
    ):
        named = pattern.read(item.path) if pattern else read_name(item.name)
        recordings[item.number] = tuple(_judged(item.path, named, request, seen))
    ordered = [one for number in sorted(recordings) for one in recordings[number]]
    joined = with_seams(ordered, request.expectation.max_gap_s, request.now)
    expected = {channel.channel for channel in request.expectation.channels}
    seen_channels = {recording.channel for recording in joined}
    missing = tuple(sorted(expected - seen_channels))
    return Proof(verdict_of(joined, missing), joined, missing)


def _judged(file: Path, named: Named, request: Prove, seen: FileLook) -> Iterator[Recording]:
    facts = seen.facts
    if facts is None:
        yield _no_picture(file, named, Kind.DAMAGED, seen.fault)
        return
    if not facts.streams:
        why = "there is no video stream in it" if facts.size_bytes else "the file has no bytes"
        yield _no_picture(file, named, Kind.EMPTY, why)
        return
    for number, (stream, looked) in enumerate(zip(facts.streams, seen.looked, strict=True)):
        recording = _recording(facts, stream, named, looked)
        wrong = tuple(wrong_suffix(facts, recording))
        recording = replace(recording, findings=(*recording.findings, *wrong))
        if seen.clocks:
            recording = with_clock(recording, seen.clocks[number], request.clock)
        yield _judge(recording, facts, request.expectation)


def _no_picture(file: Path, named: Named, kind: Kind, note: str) -> Recording:
    source = DECODER_ERRORS.source.cite()
    finding = Finding(kind, 0.0, 0.0, None, None, "", source, "", plain(note))
    return Recording(
        plain(str(file)), named.channel, "", 0, 0, None, None, None, named.start, (finding,),
        (named.unclear,) if named.unclear else (),
    )  # fmt: skip


def _recording(facts: FileFacts, stream: StreamFacts, named: Named, looked: Looked) -> Recording:
    channel, doubt = named.channel, named.unclear
    if len(facts.streams) > 1:
        # A file of several streams carries the channels in order; its name cannot name one.
        channel, doubt = stream.index + 1, ""
    unclear = ([doubt] if doubt else []) + list(looked.unclear)
    return Recording(
        file=plain(str(facts.path)),
        channel=channel,
        codec=stream.codec,
        width=stream.width,
        height=stream.height,
        rate_fps=looked.rate_fps,
        duration_s=looked.duration_s,
        bitrate_bps=looked.bitrate_bps,
        start=named.start or facts.start,
        findings=looked.findings,
        unclear=tuple(unclear),
        thumbnails=looked.thumbnails,
        key_interval_s=looked.key_interval_s,
        sound_db=looked.sound_db,
    )


def _judge(recording: Recording, facts: FileFacts, expectation: Expectation) -> Recording:
    expected = _expected(recording.channel, expectation)
    if expected is None:
        if expectation.channels and recording.channel is not None:
            line = f"nobody expects channel {recording.channel} to record"
            return replace(recording, unclear=(*recording.unclear, line))
        return recording
    audio = facts.audio_streams > 0
    found = as_expected(recording, expected, expectation, audio)
    return replace(
        recording,
        findings=(*recording.findings, *found),
        unclear=(*recording.unclear, *not_measured(recording, expected)),
    )


def _expected(channel: int | None, expectation: Expectation) -> ExpectedChannel | None:
    for expected in expectation.channels:
        if expected.channel == channel:
            return expected
    return None
