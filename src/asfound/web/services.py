"""What pages are handed: the same jobs' machinery as the command line, already chosen."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from asfound.errors import NotFound
from asfound.jobs.evidence_copy import Desk as EvidenceDesk
from asfound.jobs.visit_journal import Desk
from asfound.jobs.visit_read import ReadTools
from asfound.jobs.visit_work import ProveTools
from asfound.model.caution import Caution
from asfound.model.coverage import IgnitionLog, Schedule
from asfound.model.fault_guide import FaultGuide
from asfound.model.firmware import Catalogue
from asfound.model.fleet import Fleet
from asfound.model.menu_map import MenuMap
from asfound.model.procedure import Procedure
from asfound.model.rollout import Rollout
from asfound.model.voltage_rules import VoltageRules
from asfound.ports.bags import NewBag, OpenBag
from asfound.ports.containers import Containers
from asfound.ports.devices import Devices
from asfound.ports.drive_log import DriveLog
from asfound.ports.drive_space import DriveSpace
from asfound.ports.folders import Folders, NoFolders
from asfound.ports.merging import Merging
from asfound.ports.pdf import PdfMaker
from asfound.ports.pictures import Pictures, Repainter
from asfound.ports.plots import Plotter
from asfound.ports.request_log import RequestLog
from asfound.ports.signatures import KeyPair, Keys, Signatures
from asfound.ports.stick import Image as StickImage
from asfound.ports.stick import Stick
from asfound.ports.sweeps import Sweeps
from asfound.ports.uploads import Uploads


class Shelf(Protocol):
    """What the home folder's files say, as they are now."""

    def fleet(self) -> Fleet:
        """The fleet; the same object until its file changes. Raises NotFound, InputError."""
        ...

    def menu_map(self, map_id: str) -> MenuMap:
        """A menu map by its id. Raises NotFound, MapError."""
        ...

    def procedure(self, procedure_id: str) -> Procedure:
        """A procedure by its id. Raises NotFound, InputError."""
        ...

    def procedure_ids(self) -> Sequence[str]:
        """Every procedure that a visit can follow, by id, sorted."""
        ...

    def cautions(self) -> Mapping[str, Caution]:
        """Cautions by id."""
        ...

    def voltage_rules(self) -> VoltageRules:
        """Rules from measured voltages to likely causes."""
        ...

    def faults(self) -> FaultGuide:
        """The fault guide. Raises InputError, NotFound."""
        ...

    def catalogue(self) -> Catalogue | None:
        """The firmware catalogue; None where there is none. Raises InputError."""
        ...

    def rollout_ids(self) -> Sequence[str]:
        """Every rollout of the home folder by its file's name, sorted."""
        ...

    def rollout(self, rollout_id: str) -> Rollout:
        """A rollout by its file's name. Raises NotFound, InputError."""
        ...


@dataclass(frozen=True, slots=True)
class HoursFile:
    """An ignition log (CSV) or a schedule (TOML) as it was sent, and the names that the vehicle
    may have in a log; ``vehicle``: as somebody said that the log calls it."""

    name: str
    data: bytes
    vehicle: str = ""
    among: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Packing:
    """A bag that is written, the key that it is signed with, and what the copy works with."""

    bag: NewBag
    key: KeyPair
    desk: EvidenceDesk


@dataclass(frozen=True, slots=True)
class BundleTools:
    """What bundles need: the store to put together, keys that are ``believed`` and whose they are,
    the home's ``own`` public key in figures ("" = none yet), and a new bag in a folder."""

    merging: Merging
    believed: Mapping[bytes, str]
    own: str
    new_bag: Callable[[Path], NewBag]


class Tools(Protocol):
    """Machinery that is heavy to load: made when it is asked for, and kept."""

    def reading(self) -> ReadTools:
        """What reading photographs needs. Raises MissingPart."""
        ...

    def proving(
        self, paths: Sequence[Path], clocks: bool = False
    ) -> AbstractContextManager[ProveTools]:
        """What looking at recordings in ``paths`` needs, for as long as it takes; ``clocks``:
        burned-in clocks are read. Raises StorageError, MissingPart."""
        ...

    def containers(self) -> Containers:
        """Reader of what video files say of themselves."""
        ...

    def hours(self, file: HoursFile) -> IgnitionLog | Schedule:
        """The ignition log or schedule in a file that was sent. Raises InputError, NotFound (the
        vehicle does not stand in it), naming the file as it was sent."""
        ...

    def pictures(self) -> Pictures:
        """Decoder and encoder of still pictures."""
        ...

    def painter(self) -> Repainter:
        """Pictures that can be stored anew with something painted over."""
        ...

    def pdf(self) -> PdfMaker:
        """Compiler of PDF documents."""
        ...

    def plotter(self) -> Plotter:
        """Drawer of plots."""
        ...

    def sweeps(self) -> Sweeps:
        """Sweeps over the samples of a log."""
        ...

    def bag(self, folder: Path) -> OpenBag:
        """The bag in a folder, for reading alone."""
        ...

    def signatures(self) -> Signatures:
        """Maker and checker of signatures."""
        ...

    def bundles(self) -> BundleTools:
        """What bundles need, as the home's files are now. Raises InputError (trusted-keys),
        StorageError."""
        ...

    def packing(self, folder: Path) -> AbstractContextManager[Packing]:
        """What copying for evidence into the new ``folder`` needs, for as long as it takes. Raises
        StorageError, InputError (the home's key), MissingPart."""
        ...


@dataclass(frozen=True, slots=True)
class StickPlace:
    """Where a stick is plugged in, by a key; ``there``: one is mounted now."""

    key: str
    name: str
    there: bool


class Sticks(Protocol):
    """Places of sticks that were named when the server was started, and the images for them. A
    page names a place by its key; no path from a request is ever joined to one of ours."""

    def places(self) -> Sequence[StickPlace]:
        """Every place as it is now, in the order in which they were named."""
        ...

    def stick(self, key: str) -> Stick:
        """The stick in a place. Raises NotFound."""
        ...

    def space(self, key: str) -> DriveSpace:
        """Its free space. Raises NotFound, UsageError."""
        ...

    def has_image(self, file: str) -> bool:
        """Whether the home folder has the file of this image of the catalogue."""
        ...

    def image(self, key: str, file: str) -> StickImage:
        """The file of an image of the catalogue, for the stick in a place. Raises NotFound."""
        ...


class NoSticks:
    """No place was named."""

    def places(self) -> Sequence[StickPlace]:
        """None."""
        return ()

    def stick(self, key: str) -> Stick:
        """Always raises NotFound."""
        raise NotFound("no such stick; choose one from the list")

    def space(self, key: str) -> DriveSpace:
        """Always raises NotFound."""
        raise NotFound("no such stick; choose one from the list")

    def has_image(self, file: str) -> bool:
        """Never."""
        return False

    def image(self, key: str, file: str) -> StickImage:
        """Always raises NotFound."""
        raise NotFound("no such stick; choose one from the list")


NO_FOLDERS = NoFolders()
NO_STICKS = NoSticks()


@dataclass(frozen=True)
class Services:
    """Everything pages and resources work with. ``folders``: those with recordings, ``bags``:
    those with bags; ``requests``: logs of footage requests and deletions; ``drives``: of
    drives; ``keys``: the key that this home signs with."""

    desk: Desk
    shelf: Shelf
    tools: Tools
    devices: Devices
    uploads: Uploads
    requests: RequestLog
    drives: DriveLog
    keys: Keys
    folders: Folders = NO_FOLDERS
    bags: Folders = NO_FOLDERS
    sticks: Sticks = NO_STICKS


@dataclass(frozen=True)
class Settings:
    """How the server is reached.

    ``hosts`` are the Host headers that are ours, with port, lower case. ``lan``: others on the
    local network may pair. ``address`` is what a phone opens, "" without ``lan``.
    """

    hosts: frozenset[str]
    lan: bool = False
    address: str = ""
