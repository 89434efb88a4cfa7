"""One stream of one file: decode, measure, and say what is wrong with the pictures."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace

from asfound.calc.picture_faults import (
    Judged,
    KeyPicture,
    Sampler,
    Samples,
    Span,
    black_spans,
    one_colour_spans,
)
from asfound.calc.stillness import frozen_spans
from asfound.calc.timelines import jumps, spread
from asfound.errors import RecordingError
from asfound.model.finding import Finding, Kind
from asfound.ports.blobs import Blobs
from asfound.ports.pictures import Pictures
from asfound.ports.video import FileFacts, Frame, StreamFacts, Video
from asfound.sources import (
    BLACK_PICTURE_SHARE,
    DECODER_ERRORS,
    FREEZE_DIFFERENCE,
    HEADER_SECONDS,
    ONE_COLOUR_AREA,
    Limit,
)

SAMPLE_S = 0.1
"""Pictures are measured at most this often [s]: spans are exact to one sample."""
THUMBNAILS = 6
PULSE = 20
"""Progress is told each so many samples."""


@dataclass(frozen=True, slots=True)
class Tools:
    """The back-ends a stream's proof needs, and what to call now and then."""

    video: Video
    pictures: Pictures
    blobs: Blobs | None
    pulse: Callable[[], None]


@dataclass(frozen=True, slots=True)
class Looked:
    """What decoding a stream showed. Figures are measured; None: could not be."""

    pictures: int
    rate_fps: float | None
    duration_s: float | None
    bitrate_bps: float | None
    findings: tuple[Finding, ...] = ()
    unclear: tuple[str, ...] = ()
    thumbnails: tuple[tuple[float, str], ...] = ()


@dataclass(slots=True)
class _Tally:
    sampler: Sampler = field(default_factory=Sampler)
    last: Frame | None = None
    damaged: list[float] = field(default_factory=list)
    broke: str = ""

    def take(self, frames: Iterable[Frame], pulse: Callable[[], None]) -> None:
        try:
            for count, frame in enumerate(frames):
                if frame.damaged:
                    self.damaged.append(frame.second)
                key = None if frame.full is None else KeyPicture(frame.packet_bytes, frame.full)
                self.sampler.add(frame.second, frame.luma, frame.chroma, frame.limited, key)
                self.last = frame
                if count % PULSE == 0:
                    pulse()
        except RecordingError as error:
            self.broke = str(error)


def look(facts: FileFacts, stream: StreamFacts, max_gap_s: float, tools: Tools) -> Looked:
    """Decode and judge one stream. Pictures of findings and thumbnails go to the blobs."""
    tally = _Tally()
    tally.take(tools.video.frames(facts.path, stream.index, SAMPLE_S), tools.pulse)
    if tally.last is None:
        why = tally.broke or "no picture in it can be decoded"
        kind = Kind.DAMAGED if tally.broke else Kind.EMPTY
        return Looked(0, None, None, None, (_broken(kind, 0.0, 0.0, why),))
    last = tally.last
    pictures = last.number + 1
    measured = (pictures - 1) / last.second if last.second > 0 else None
    step = 1 / (measured or stream.rate_fps or 25)
    end = last.second + step
    samples = tally.sampler.samples(end)
    unclear: list[str] = []
    findings = list(_damage(facts, stream, tally, end))
    findings.extend(_picture_findings(samples, unclear))
    findings.extend(
        Finding(
            Kind.GAP, start, stop, stop - start, max_gap_s, "s", "expectation: longest gap", "",
            f"no pictures for {stop - start:.1f} s inside the file",
        )
        for start, stop in jumps(samples.second, max_gap_s)
    )  # fmt: skip
    if stream.rate_fps is None and facts.streams:
        unclear.append("the file states no times: seconds are counted at 25 pictures a second")
    size = last.bytes_before
    thumbnails, findings = _keep_pictures(facts, stream, findings, end, tools)
    return Looked(
        pictures,
        measured if stream.rate_fps is not None else None,
        end,
        8 * size / end if size else stream.bitrate_bps,
        tuple(sorted(findings, key=lambda finding: (finding.start_s, finding.kind))),
        tuple(unclear),
        thumbnails,
    )


def _broken(kind: Kind, start: float, end: float, note: str, count: float | None = None) -> Finding:
    source = DECODER_ERRORS.source.cite()
    return Finding(kind, start, end, count, DECODER_ERRORS.value, "pictures", source, "", note)


def _damage(facts: FileFacts, stream: StreamFacts, tally: _Tally, end: float) -> Iterable[Finding]:
    stated = stream.duration_s
    short = stated is not None and stated - end > HEADER_SECONDS.value
    if tally.damaged:
        first, last, count = tally.damaged[0], tally.damaged[-1], len(tally.damaged)
        note = f"{count} picture{'s' * (count > 1)} with decoding errors"
        yield _broken(Kind.DAMAGED, first, last, note, count)
    if short and stated is not None:
        yield Finding(
            Kind.DAMAGED, end, stated, stated - end, HEADER_SECONDS.value, "s",
            HEADER_SECONDS.source.cite(), "",
            f"cut off: the header says {stated:.1f} s, pictures end at {end:.1f} s",
        )  # fmt: skip
    elif facts.cut_off:
        yield _broken(Kind.DAMAGED, end, end, f"cut off: {facts.cut_off}")
    elif tally.broke:
        yield _broken(Kind.DAMAGED, end, stated or end, tally.broke)


def _picture_findings(samples: Samples, unclear: list[str]) -> Iterable[Finding]:
    black = black_spans(samples)
    one = one_colour_spans(samples, black)
    frozen = frozen_spans(samples, (*black, *one))
    for kind, limit, spans in (
        (Kind.BLACK, BLACK_PICTURE_SHARE, black),
        (Kind.NO_SIGNAL, ONE_COLOUR_AREA, one),
        (Kind.FROZEN, FREEZE_DIFFERENCE, frozen),
    ):
        for span in spans:
            if span.judged is Judged.UNCLEAR:
                unclear.append(f"{span.start_s:.1f} to {span.end_s:.1f} s: {span.note}")
            else:
                yield _from_span(kind, span, limit)


def _from_span(kind: Kind, span: Span, limit: Limit) -> Finding:
    return Finding(
        kind, span.start_s, span.end_s, span.measured, limit.value, limit.unit,
        limit.source.cite(), "", span.note,
    )  # fmt: skip


def _keep_pictures(
    facts: FileFacts, stream: StreamFacts, findings: Sequence[Finding], end: float, tools: Tools
) -> tuple[tuple[tuple[float, str], ...], list[Finding]]:
    """Store thumbnails spread over the recording and one picture from inside each finding."""
    if tools.blobs is None:
        return (), list(findings)
    strip = spread(end, THUMBNAILS)
    middles = [min((f.start_s + f.end_s) / 2, max(0.0, end - 0.05)) for f in findings]
    wanted = sorted({*strip, *middles})
    stored = {
        second: tools.blobs.put(tools.pictures.encode_jpeg(pixels))
        for second, pixels in tools.video.stills(facts.path, stream.index, wanted)
    }
    thumbnails = tuple((second, stored[second]) for second in strip if second in stored)
    return thumbnails, [
        replace(finding, evidence=stored.get(middle, ""))
        for finding, middle in zip(findings, middles, strict=True)
    ]
