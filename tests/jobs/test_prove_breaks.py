"""A file that breaks off after damaged stamps ran past its header's length: no finding ends before
it starts (FFmpeg's demuxers hand stamps on as they stand; ISO/IEC 14496-12 gives the length)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from asfound.demo.footage import Camera, Drive, film
from asfound.errors import RecordingError
from asfound.jobs.prove_stream import Tools, look
from asfound.model.finding import Kind
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.video import Frame


class Breaking(AvVideo):
    """Reads all pictures, then breaks off."""

    def frames(self, path: Path, stream: int, every_s: float = 0.0) -> Iterator[Frame]:
        """As the reader's own, and an error at the end."""
        yield from super().frames(path, stream, every_s)
        raise RecordingError("breaks off")


@pytest.mark.parametrize(("stated", "end"), [(3.8, 4.0), (4.5, 4.5), (None, 4.0)])
def test_a_break_never_ends_before_it_starts(
    stated: float | None, end: float, tmp_path: Path
) -> None:
    camera = Camera(1, "ROAD", "road", 160, 96, 10)
    [made] = film(Drive(4, datetime(2026, 3, 1, 8, tzinfo=UTC), 4, (camera,)), tmp_path)
    video = Breaking()
    facts = video.facts(made)
    stream = replace(facts.streams[0], duration_s=stated)
    seen = look(facts, stream, 2.0, Tools(video, PillowPictures(), None, lambda: None, True))
    [broke] = [one for one in seen.findings if one.kind is Kind.DAMAGED]
    assert broke.start_s == pytest.approx(4.0, abs=0.01)
    assert broke.end_s == pytest.approx(end, abs=0.01)
