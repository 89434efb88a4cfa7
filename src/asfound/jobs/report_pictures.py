"""Pictures for a document: out of the store, checked, small; a missing one is said, not fatal."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field

from asfound.calc.crop import shrink, straight_crop
from asfound.errors import IntegrityError, NotFound, PictureError
from asfound.jobs.report_texts import Row
from asfound.model.reading import Box
from asfound.ports.blobs import Blobs
from asfound.ports.pictures import Picture, Pictures

THUMB_PX = 480
"""Longest side of an evidence picture: 300 dots per inch at 40 mm."""

CROP_PX = 640


@dataclass
class Album:
    """Collects a document's pictures by name. Each picture is encoded anew, without metadata."""

    blobs: Blobs
    pictures: Pictures
    files: dict[str, bytes] = field(default_factory=dict)
    _last: tuple[str, Picture] | None = None

    def whole(self, sha256: str) -> Row:
        """A stored picture, shrunk: {"file", "problem"}, one of the two empty."""
        name = f"whole-{sha256[:24]}.jpg"
        if name in self.files:
            return _shot(name)
        return self._add(name, sha256, None)

    def crop(self, sha256: str, box: Box | None) -> Row:
        """The part of a stored photograph that ``box`` outlines, straightened."""
        if not sha256 or box is None:
            return _shot(problem="not found on any photograph")
        mark = hashlib.sha256(repr((sha256, box)).encode()).hexdigest()[:24]
        return self._add(f"crop-{mark}.jpg", sha256, box)

    def _add(self, name: str, sha256: str, box: Box | None) -> Row:
        try:
            pixels = self._decoded(sha256).pixels
        except NotFound:
            return _shot(problem=f"picture {sha256[:12]}… is missing from the store")
        except IntegrityError:
            return _shot(problem=f"picture {sha256[:12]}… is not what was stored")
        except PictureError:
            return _shot(problem=f"picture {sha256[:12]}… cannot be opened")
        if box is None:
            made = shrink(pixels, THUMB_PX)
        else:
            made = straight_crop(pixels, box, longest=CROP_PX)
        self.files[name] = self.pictures.encode_jpeg(made, 88)
        return _shot(name)

    def _decoded(self, sha256: str) -> Picture:
        # Neighbouring fields come from the same photograph: keep the last one open.
        if self._last is None or self._last[0] != sha256:
            picture = self.pictures.decode(self.blobs.get(sha256), f"picture {sha256[:12]}…")
            self._last = (sha256, picture)
        return self._last[1]


def _shot(file: str = "", problem: str = "") -> Row:
    return {"file": file, "problem": problem}
