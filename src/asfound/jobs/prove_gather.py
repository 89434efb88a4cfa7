"""One stream, looked at in stages; short ones are decoded wholly: that costs no more than opening
them."""

from __future__ import annotations

from asfound.calc.picture_faults import Sampler
from asfound.errors import RecordingError
from asfound.jobs.prove_gathered import (
    KEYS_EVERY_S,
    PULSE,
    SAMPLE_S,
    Gathered,
    Way,
    take_sample,
)
from asfound.jobs.prove_stages import Stages
from asfound.ports.video import FileFacts, Frame, LongGroup, StreamFacts, Video


def gather(facts: FileFacts, stream: StreamFacts, video: Video, way: Way) -> Gathered:
    """Read one stream, as far as it can be read."""
    whole = way.whole or _short(facts, stream, way.whole_pixels)
    stages = Stages(stream, way, decode=not whole)
    groups = video.groups(facts.path, stream.index, KEYS_EVERY_S)
    try:
        stages.take(groups)
    except LongGroup:
        whole = True
    if whole or not stages.seen:
        return _wholly(facts, stream, video, way, stages.out)
    return stages.finish()


def _short(facts: FileFacts, stream: StreamFacts, pixels: int) -> bool:
    if stream.duration_s is None:
        return facts.size_bytes * 8 < pixels // 100
    return stream.width * stream.height * stream.duration_s * (stream.rate_fps or 25) <= pixels


def _wholly(
    facts: FileFacts, stream: StreamFacts, video: Video, way: Way, packets: Gathered
) -> Gathered:
    """Every picture decoded, and what the packets told besides."""
    out = Gathered(key_intervals=packets.key_intervals, jumps=packets.jumps)
    sampler = Sampler()
    last: Frame | None = None
    seen = 0.0 - KEYS_EVERY_S
    frames = video.frames(facts.path, stream.index, SAMPLE_S)
    try:
        for count, frame in enumerate(frames):
            if frame.damaged:
                out.damaged.append(frame.second)
            take_sample(sampler, frame)
            if frame.full is not None and frame.second - seen >= KEYS_EVERY_S - 0.02:
                way.on_key(frame.second, frame.full, frame.limited)
                seen = frame.second
            out.seconds.append(frame.second)
            last = frame
            if count % PULSE == 0:
                way.pulse()
    except RecordingError as error:
        out.broke = str(error)
    if last is not None:
        out.pictures = out.decoded = last.number + 1
        # The decoder's last pictures may come without their packets' sizes.
        out.last_s, out.size_bytes = last.second, max(packets.size_bytes, last.bytes_before)
        if facts.container == "avi" and packets.last_s > last.second:
            # Pictures left out are empty chunks: the decoder never sees them.
            out.last_s, out.seconds = packets.last_s, packets.seconds
        out.samples = sampler.samples(last.second)
    return out
