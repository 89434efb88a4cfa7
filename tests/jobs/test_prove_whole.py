"""Decoding every picture finds what looking in stages cannot: damage between two key pictures that
does not show from outside."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import av
import pytest

from asfound.demo.footage import Camera, Coding, Drive, film
from asfound.jobs.prove import Prove, prove
from asfound.jobs.prove_files import Helpers
from asfound.model.finding import Kind
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.results_sqlite import SqliteResults
from asfound.ports.backends.video_av import AvVideo

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def scratched(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twelve seconds of 1280x720, more than is decoded wholly anyway, with a few bytes of one
    picture between two key pictures turned over (the packet's place is told by the container)."""
    folder = tmp_path_factory.mktemp("scratched")
    camera = Camera(1, "ROAD", "road", 1280, 720, 5, coding=Coding(key_every_s=2.0))
    [path] = film(Drive(5, START, 12, (camera,)), folder)
    with av.open(str(path)) as container:
        packets = [one for one in container.demux(video=0) if one.size]
    hit = packets[len(packets) // 2 + 4]
    assert not hit.is_keyframe and hit.pos is not None and hit.size > 400
    data = bytearray(path.read_bytes())
    for at in range(hit.pos + 60, hit.pos + 360):
        data[at] ^= 0x5A
    path.write_bytes(data)
    return path


def kinds(path: Path, whole: bool, helpers: Helpers | None = None) -> set[Kind]:
    request = Prove((path,), whole=whole)
    made = prove(request, video=AvVideo(), pictures=PillowPictures(), helpers=helpers)
    return {finding.kind for _, finding in made.findings()}


def test_damage_between_key_pictures_is_found(scratched: Path) -> None:
    assert Kind.DAMAGED not in kinds(scratched, whole=False)
    assert Kind.DAMAGED in kinds(scratched, whole=True)


def test_what_was_remembered_from_stages_is_looked_at_again(
    scratched: Path, tmp_path: Path
) -> None:
    results = SqliteResults(tmp_path / "proofs.db", pytest.fail)
    try:
        assert Kind.DAMAGED not in kinds(scratched, False, Helpers(results=results))
        assert Kind.DAMAGED in kinds(scratched, True, Helpers(results=results))
        assert Kind.DAMAGED not in kinds(scratched, False, Helpers(results=results))
    finally:
        results.close()
