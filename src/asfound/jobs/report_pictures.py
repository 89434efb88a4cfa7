"""Pictures for a document: out of the store, checked, small; a missing one is said, not fatal.
Passwords are painted over before anything is cut out."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace

from asfound.calc.crop import shrink, straight_crop
from asfound.errors import IntegrityError, NotFound, PictureError
from asfound.jobs.hidden_pixels import Spots, is_placed, without_secrets
from asfound.jobs.report_texts import Row
from asfound.model.reading import Box
from asfound.ports.blobs import Blobs
from asfound.ports.pictures import Picture, Pictures

EVIDENCE_PX = 480
"""Longest side of a finding's picture: 350 dots per inch at 34 mm."""

CROP_PX = 640


@dataclass
class Album:
    """Collects a document's pictures by name. Each picture is encoded anew, without metadata;
    ``secrets`` says what of which picture is painted over."""

    blobs: Blobs
    pictures: Pictures
    secrets: Spots = field(default_factory=dict)
    files: dict[str, bytes] = field(default_factory=dict)
    _last: tuple[str, Picture] | None = None

    def whole(self, sha256: str, longest: int = EVIDENCE_PX) -> Row:
        """A stored picture, shrunk: {"file", "problem"}, one of the two empty."""
        mark = hashlib.sha256(sha256.encode()).hexdigest()[:24]
        name = f"whole-{mark}-{longest}.jpg"
        if name in self.files:
            return _shot(name)
        return self._add(name, sha256, None, longest)

    def crop(self, sha256: str, box: Box | None) -> Row:
        """The part of a stored photograph that ``box`` outlines, straightened."""
        if not sha256 or box is None:
            return _shot(problem="not found on any photograph")
        mark = hashlib.sha256(repr((sha256, box)).encode()).hexdigest()[:24]
        return self._add(f"crop-{mark}.jpg", sha256, box, CROP_PX)

    def _add(self, name: str, sha256: str, box: Box | None, longest: int) -> Row:
        if not is_placed(self.secrets.get(sha256, ())):
            return _shot(problem="not shown: a password may stand there")
        try:
            pixels = self._decoded(sha256).pixels
        except NotFound:
            return _shot(problem=f"picture {sha256[:12]}… is missing from the store")
        except IntegrityError:
            return _shot(problem=f"picture {sha256[:12]}… is not what was stored")
        except PictureError:
            return _shot(problem=f"picture {sha256[:12]}… cannot be opened")
        if box is None:
            made = shrink(pixels, longest)
        else:
            made = straight_crop(pixels, box, longest=longest)
        self.files[name] = self.pictures.encode_jpeg(made, 88)
        return _shot(name)

    def _decoded(self, sha256: str) -> Picture:
        # Neighbouring fields come from the same photograph: keep the last one open.
        if self._last is None or self._last[0] != sha256:
            picture = self.pictures.decode(self.blobs.get(sha256), f"picture {sha256[:12]}…")
            pixels = without_secrets(picture, self.secrets.get(sha256, ()))
            self._last = (sha256, replace(picture, pixels=pixels))
        return self._last[1]


def _shot(file: str = "", problem: str = "") -> Row:
    return {"file": file, "problem": problem}
