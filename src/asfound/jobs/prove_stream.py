"""One stream of one file: decode, measure, and say what is wrong with the pictures."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from statistics import median

import numpy as np

from asfound.calc.picture_faults import Judged, Samples, Span, black_spans, one_colour_spans
from asfound.calc.stillness import frozen_spans
from asfound.calc.timelines import jumps, spread
from asfound.jobs.prove_gather import gather
from asfound.jobs.prove_gathered import WHOLE_PIXELS, Gathered, Way
from asfound.jobs.prove_pictures import PictureWatch, Reference, explained, open_below_covers
from asfound.model.finding import Finding, Kind
from asfound.ports.blobs import Blobs
from asfound.ports.pictures import Pictures
from asfound.ports.video import FileFacts, StreamFacts, Video
from asfound.sources import (
    BLACK_PICTURE_SHARE,
    COUNTED_PICTURES,
    DECODER_ERRORS,
    FREEZE_DIFFERENCE,
    HEADER_SECONDS,
    ONE_COLOUR_AREA,
    Limit,
)

THUMBNAILS = 6
SOUND_SAMPLES, SOUND_S = 4, 1.0
"""Sound is listened to so often, for so many seconds."""
TIMES_ASCEND = "ISO/IEC 13818-1 2.4.3.7 and ISO/IEC 14496-12: times ascend"
TIMES_BACK_S = 1.0
"""Times that run backwards by less are a writer's rounding (own choice)."""

PAUSE_S, PAUSE = 1.0, 5.0
"""No pictures for longer than so many seconds and so many times the usual step is a pause: the
rate is that of the pictures around it."""


@dataclass(frozen=True, slots=True)
class Tools:
    """The back-ends a stream's proof needs, and what to call now and then. ``whole``: decode
    every picture; else only streams of at most ``whole_pixels`` over all pictures are. ``aim``:
    it is held against ``reference``."""

    video: Video
    pictures: Pictures
    blobs: Blobs | None
    pulse: Callable[[], None]
    whole: bool = False
    whole_pixels: int = WHOLE_PIXELS
    reference: Reference | None = None
    aim: bool = False


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
    key_interval_s: float | None = None
    sound_db: float | None = None
    decoded: int = 0


def look(facts: FileFacts, stream: StreamFacts, max_gap_s: float, tools: Tools) -> Looked:
    """Look at one stream and judge. Pictures of findings and thumbnails go to the blobs."""
    watch = PictureWatch(aim=tools.reference is not None)
    way = Way(tools.pulse, watch.add, tools.whole, tools.whole_pixels)
    seen = gather(facts, stream, tools.video, way)
    if seen.samples is None or not len(seen.samples.second):
        why = seen.broke or "no picture in it can be decoded"
        kind = Kind.DAMAGED if seen.broke else Kind.EMPTY
        return Looked(0, None, None, None, (_broken(kind, 0.0, 0.0, why),))
    measured = _rate(seen, max_gap_s)
    end = seen.last_s + 1 / (measured or stream.rate_fps or 25)
    samples = replace(seen.samples, end_s=end)
    unclear: list[str] = []
    findings = [*_damage(facts, stream, seen, end), *_times(seen, max_gap_s)]
    findings.extend(_picture_findings(samples, seen.stuck, unclear))
    seen_wrong, doubts = watch.result(end, tools.reference)
    findings, more = open_below_covers(findings, seen_wrong)
    unclear.extend(more)
    findings.extend(one for one in seen_wrong if not explained(one, findings))
    unclear.extend(doubts)
    if tools.aim and tools.reference is None:
        unclear.append("aim cannot be judged: no earlier picture of this channel was given")
    if stream.rate_fps is None and facts.streams:
        unclear.append("the file states no times: seconds are counted at 25 pictures a second")
    thumbnails, findings = _keep_pictures(facts, stream, findings, end, tools)
    return Looked(
        pictures=seen.pictures,
        rate_fps=measured if stream.rate_fps is not None else None,
        duration_s=end,
        bitrate_bps=8 * seen.size_bytes / end if seen.size_bytes else stream.bitrate_bps,
        findings=tuple(sorted(findings, key=lambda finding: (finding.start_s, finding.kind))),
        unclear=tuple(unclear),
        thumbnails=thumbnails,
        key_interval_s=median(seen.key_intervals) if seen.key_intervals else None,
        sound_db=_sound(facts, end, tools) if facts.audio_streams else None,
        decoded=seen.decoded,
    )


def _rate(seen: Gathered, max_gap_s: float) -> float | None:
    """Pictures a second while pictures were recorded: pauses are findings of their own, or so
    short that they are allowed."""
    seconds = np.array(seen.seconds)
    usual = float(np.median(np.diff(seconds))) if len(seconds) > 1 else 0.0
    pauses = jumps(seconds, min(max_gap_s, max(PAUSE_S, PAUSE * usual)))
    recorded = seen.last_s - sum(stop - start for start, stop in pauses)
    steps = seen.pictures - 1 - len(pauses)
    return steps / recorded if recorded > 0 and steps > 0 else None


def _times(seen: Gathered, max_gap_s: float) -> Iterable[Finding]:
    """Pauses, and times that run backwards."""
    for start, stop in jumps(np.array(seen.seconds), max_gap_s):
        yield Finding(
            Kind.GAP, start, stop, stop - start, max_gap_s, "s", "expectation: longest gap", "",
            f"no pictures for {stop - start:.1f} s inside the file",
        )  # fmt: skip
    for second, lost in seen.jumps:
        if lost >= TIMES_BACK_S:
            yield Finding(
                Kind.TIME_JUMP, second, second, lost, TIMES_BACK_S, "s", TIMES_ASCEND, "",
                f"the file's times run backwards by {lost:.1f} s; counted on from there",
            )  # fmt: skip


def _sound(facts: FileFacts, end: float, tools: Tools) -> float | None:
    """How loud the loudest of short samples of the sound is [dB re full scale]."""
    return tools.video.loudness(facts.path, spread(end, SOUND_SAMPLES), SOUND_S)


def _broken(kind: Kind, start: float, end: float, note: str, count: float | None = None) -> Finding:
    source = DECODER_ERRORS.source.cite()
    return Finding(kind, start, end, count, DECODER_ERRORS.value, "pictures", source, "", note)


def _damage(facts: FileFacts, stream: StreamFacts, seen: Gathered, end: float) -> Iterable[Finding]:
    stated = stream.duration_s
    short = stated is not None and stated - end > HEADER_SECONDS.value
    rate = stream.rate_fps or 25
    fewer = stated is not None and rate * (stated - end) > COUNTED_PICTURES.value
    if seen.damaged:
        first, last, count = seen.damaged[0], seen.damaged[-1], len(seen.damaged)
        note = f"{count} picture{'s' * (count > 1)} with decoding errors"
        yield _broken(Kind.DAMAGED, first, last, note, count)
    if short and stated is not None:
        yield Finding(
            Kind.DAMAGED, end, stated, stated - end, HEADER_SECONDS.value, "s",
            HEADER_SECONDS.source.cite(), "",
            f"cut off: the header says {stated:.1f} s, pictures end at {end:.1f} s",
        )  # fmt: skip
    elif facts.container == "avi" and fewer and stated is not None and not seen.damaged:
        lost = rate * (stated - end)
        yield Finding(
            Kind.DAMAGED, 0.0, end, lost, COUNTED_PICTURES.value, COUNTED_PICTURES.unit,
            COUNTED_PICTURES.source.cite(), "",
            f"the header counts {lost:.0f} pictures more than there are",
        )  # fmt: skip
    elif facts.cut_off:
        yield _broken(Kind.DAMAGED, end, end, f"cut off: {facts.cut_off}")
    elif seen.broke:
        # Damaged stamps may lie past what the header says.
        yield _broken(Kind.DAMAGED, end, max(end, stated or end), seen.broke)


def _picture_findings(
    samples: Samples, stuck: Sequence[tuple[float, float]], unclear: list[str]
) -> Iterable[Finding]:
    black = black_spans(samples)
    one = one_colour_spans(samples, black)
    frozen = frozen_spans(samples, (*black, *one), stuck)
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
