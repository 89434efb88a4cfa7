"""Copies for evidence without a decoder and a compiler, which are slow to load (tests only)."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

from asfound.jobs.bag_verify import verify_bag
from asfound.jobs.evidence_copy import CopyEvidence, Desk, EvidenceCopied, copy_evidence
from asfound.model.bag import BagVerified
from asfound.ports.backends.bag_disk import DiskBag, DiskNewBag
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.signatures_ed25519 import Ed25519
from asfound.ports.containers import Containers
from asfound.ports.remux import Remuxer
from asfound.ports.video import FileFacts, StreamFacts

KEY = Ed25519().pair(b"k" * 32)


class Sheet:
    """Documents without a compiler, which has tests of its own."""

    def compile(
        self, template: str, data: Mapping[str, object], files: Mapping[str, bytes], at: datetime
    ) -> bytes:
        return f"{template} {sorted(data)}".encode()

    def page_pictures(
        self,
        template: str,
        data: Mapping[str, object],
        files: Mapping[str, bytes],
        at: datetime,
        dots: int = 110,
    ) -> tuple[bytes, ...]:
        return ()


def copy_with(
    video: Containers,
    paths: tuple[Path, ...],
    to: Path,
    *,
    remuxer: Remuxer | None = None,
    **more: object,
) -> EvidenceCopied:
    """A copy with a clock that was 258 s fast, of everything, but for what ``more`` says."""
    asked = {
        "everything": True,
        "start": datetime(2026, 11, 20, 8, tzinfo=UTC),
        "end": datetime(2026, 11, 20, 9, tzinfo=UTC),
        "offset_s": 258.0,
        **more,
    }
    request = CopyEvidence(paths, "217", by="A. Tester", why="claim 12", **asked)  # type: ignore[arg-type]  # (tests name what differs)
    desk = Desk(video, Ed25519(), SystemClock(), Sheet(), remuxer)
    return copy_evidence(request, KEY, bag=DiskNewBag(to), desk=desk)


def verify(bag: Path, key: bytes | None = None) -> BagVerified:
    """The bag held against itself, and against a key."""
    return verify_bag(DiskBag(bag), signatures=Ed25519(), key=key)


class Minutes:
    """Files of one minute each, whose names are the minute of 2026-11-20 08:00 UTC they begin."""

    def find(self, path: Path) -> list[Path]:
        return sorted(path.iterdir()) if path.is_dir() else [path]

    def facts(self, path: Path) -> FileFacts:
        start: datetime | None = datetime(2026, 11, 20, 8, int(path.stem[-2:]), tzinfo=UTC)
        if path.stem.startswith("never"):
            start = None
        stream = StreamFacts(0, "h264", 320, 192, 12.0, 60.0, 1e6)
        return FileFacts(path, 3, "mp4", (stream,), 0, start, "")
