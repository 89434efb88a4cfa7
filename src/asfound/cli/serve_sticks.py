"""Sticks that pages may look at: where they are mounted was named when the server was started."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from asfound.calc.plain_text import plain
from asfound.cli import wiring
from asfound.errors import NotFound
from asfound.ports.drive_space import DriveSpace
from asfound.ports.folders import folder_key
from asfound.ports.stick import Image, Stick
from asfound.web.services import StickPlace

IMAGES = "firmware"
"""Folder of the home folder with the files of the catalogue's images."""


class HomeSticks:
    """Places by name, and the images in the home folder."""

    def __init__(self, roots: Mapping[str, Path], images: Path) -> None:
        self._roots = {folder_key(name, ""): (name, path) for name, path in roots.items()}
        self._images = images

    def places(self) -> Sequence[StickPlace]:
        """Every place as it is now."""
        return [
            StickPlace(key, plain(name), _mounted(path))
            for key, (name, path) in self._roots.items()
        ]

    def stick(self, key: str) -> Stick:
        """The stick in a place. Raises NotFound."""
        return wiring.stick(self._path(key))

    def space(self, key: str) -> DriveSpace:
        """Its free space. Raises NotFound, UsageError."""
        return wiring.drive_space(self._path(key))

    def has_image(self, file: str) -> bool:
        """Whether the file of an image of the catalogue is here."""
        return _is_name(file) and (self._images / file).is_file()

    def image(self, key: str, file: str) -> Image:
        """The file of an image of the catalogue. Raises NotFound."""
        if not self.has_image(file):
            raise NotFound(f"{file}: is not in {self._images}; copy it there, then try again")
        return wiring.image(self._images / file, self._path(key))

    def _path(self, key: str) -> Path:
        if key not in self._roots:
            raise NotFound("no such stick; choose one from the list")
        return self._roots[key][1]


def _mounted(path: Path) -> bool:
    try:
        return path.is_mount()
    except OSError:
        return False


def _is_name(file: str) -> bool:
    """A name alone: the catalogue takes no other, and this is looked at once more."""
    return bool(file) and Path(file).name == file and file not in (".", "..")
