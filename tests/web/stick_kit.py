"""The demonstration's home with firmware, and sticks in memory (tests only)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from tests.fake_drive import FakeStick
from tests.fake_stick import MemoryImage, MemoryStick
from tests.web.kit import PORT
from tests.worked_visit import fleet_home

from asfound.cli.home import Home
from asfound.cli.serve_parts import services
from asfound.demo.firmware import lay_firmware
from asfound.errors import NotFound
from asfound.ports.drive_space import DriveSpace
from asfound.ports.stick import Image, Stick
from asfound.units import MIB
from asfound.web.services import Services, StickPlace

BLUE = "b" * 16
"""The key of the one place."""


@dataclass
class MemorySticks:
    """One place, with a stick in memory; images come from the folder ``images``."""

    images: Path
    blue: MemoryStick = field(default_factory=MemoryStick)

    def places(self) -> Sequence[StickPlace]:
        return [StickPlace(BLUE, "Blue", True)]

    def stick(self, key: str) -> Stick:
        self._check(key)
        return self.blue

    def space(self, key: str) -> DriveSpace:
        self._check(key)
        return FakeStick(MIB)

    def has_image(self, file: str) -> bool:
        return (self.images / file).is_file()

    def image(self, key: str, file: str) -> Image:
        self._check(key)
        return MemoryImage(file, (self.images / file).read_bytes())

    def _check(self, key: str) -> None:
        if key != BLUE:
            raise NotFound("no such stick; choose one from the list")


def firmware_home(folder: Path) -> Home:
    """The demonstration's fleet with its catalogue, images and rollout."""
    home = fleet_home(folder)
    lay_firmware(folder)
    return home


def with_sticks(home: Home) -> tuple[Services, MemorySticks]:
    """The pages' services over a home, with one stick in memory."""
    sticks = MemorySticks(home.path / "firmware")
    return replace(services(home), sticks=sticks), sticks


ADDRESS = f"http://localhost:{PORT}"
