"""What the pages are handed: the home folder's files as they are now, and the machinery."""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import cached_property
from pathlib import Path
from typing import TypeVar

from asfound.cli import wiring
from asfound.cli.helpers import helpers
from asfound.cli.home import CATALOGUE, ROLLOUTS, Home
from asfound.cli.sent_hours import sent_hours
from asfound.cli.serve_sticks import IMAGES, HomeSticks
from asfound.errors import NotFound
from asfound.jobs.evidence_copy import Desk as EvidenceDesk
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
from asfound.ports.backends.bag_disk import DiskBag, DiskNewBag
from asfound.ports.backends.devices_file import FileDevices
from asfound.ports.backends.firmware_toml import load_catalogue
from asfound.ports.backends.folders_disk import DiskFolders
from asfound.ports.backends.rollout_toml import load_rollout
from asfound.ports.backends.signatures_ed25519 import Ed25519, FileKeys
from asfound.ports.backends.trusted_keys import trusted_keys
from asfound.ports.backends.uploads_files import FileUploads
from asfound.ports.backends.voltage_rules_toml import load_voltage_rules
from asfound.ports.bags import OpenBag
from asfound.ports.containers import Containers
from asfound.ports.pdf import PdfMaker
from asfound.ports.pictures import Pictures, Repainter
from asfound.ports.plots import Plotter
from asfound.ports.signatures import Signatures
from asfound.ports.sweeps import Sweeps
from asfound.web.services import BundleTools, HoursFile, Packing, Services

T = TypeVar("T")


def services(
    home: Home,
    recordings: Mapping[str, Path] | None = None,
    bags: Mapping[str, Path] | None = None,
    sticks: Mapping[str, Path] | None = None,
) -> Services:
    """Everything the pages of one home folder work with; ``recordings`` and ``bags`` are folders
    by name, ``sticks`` places where sticks are mounted."""
    return Services(
        home.desk(),
        HomeShelf(home),
        HomeTools(home),
        FileDevices(home.path / "devices.json"),
        FileUploads(home.path / "uploads"),
        home.requests(),
        home.drives(),
        home.keys(),
        DiskFolders(recordings or {}),
        DiskFolders(bags or {}),
        HomeSticks(sticks or {}, home.path / IMAGES),
    )


TRUSTED = "trusted-keys"
"""File in the home folder: keys that bundles may be signed with."""


class HomeShelf:
    """The home folder's files; each is read again when it has changed, and only then."""

    def __init__(self, home: Home) -> None:
        self._home = home
        self._known: dict[Hashable, tuple[Hashable, object]] = {}
        self._lock = threading.Lock()

    def fleet(self) -> Fleet:
        """The fleet. Raises NotFound, InputError."""
        path = self._home.path / "fleet.toml"
        return self._once("fleet", path, lambda: Home(self._home.path).fleet())

    def menu_map(self, map_id: str) -> MenuMap:
        """A menu map by its id. Raises NotFound, MapError."""
        path = self._home.map_paths().get(map_id)
        return self._once(("map", map_id), path, lambda: self._home.menu_map(map_id))

    def procedure(self, procedure_id: str) -> Procedure:
        """A procedure by its id. Raises NotFound, InputError."""
        path = self._home.procedure_paths().get(procedure_id)
        return self._once(
            ("procedure", procedure_id), path, lambda: self._home.procedure(procedure_id)
        )

    def procedure_ids(self) -> Sequence[str]:
        """Every procedure that a visit can follow, by id, sorted."""
        return sorted(self._home.procedure_paths())

    def cautions(self) -> Mapping[str, Caution]:
        """Cautions by id."""
        return self._home.cautions()

    def voltage_rules(self) -> VoltageRules:
        """Rules from measured voltages to likely causes."""
        return self._voltage_rules

    @cached_property
    def _voltage_rules(self) -> VoltageRules:
        return load_voltage_rules()

    def faults(self) -> FaultGuide:
        """The fault guide. Raises InputError, NotFound."""
        return self._once("faults", self._home.faults_path(), self._home.faults)

    def catalogue(self) -> Catalogue | None:
        """The firmware catalogue; None where there is none. Raises InputError."""
        path = self._home.path / CATALOGUE
        return self._once("firmware", path, lambda: load_catalogue(path)) if path.exists() else None

    def rollout_ids(self) -> Sequence[str]:
        """Every rollout by its file's name, sorted."""
        return sorted(path.stem for path in (self._home.path / ROLLOUTS).glob("*.toml"))

    def rollout(self, rollout_id: str) -> Rollout:
        """A rollout by its file's name. Raises NotFound, InputError."""
        if rollout_id not in self.rollout_ids():
            raise NotFound(f"no rollout {rollout_id!r}; see the list")
        path = self._home.path / ROLLOUTS / f"{rollout_id}.toml"
        return self._once(("rollout", rollout_id), path, lambda: load_rollout(path))

    def _once(self, key: Hashable, path: Path | None, load: Callable[[], T]) -> T:
        stamp = _stamp(path)
        with self._lock:
            known = self._known.get(key)
            if known is not None and known[0] == stamp and stamp is not None:
                kept: T = known[1]  # type: ignore[assignment] # the key's own loader made it
                return kept
            made = load()
            self._known[key] = (stamp, made)
            return made


def _stamp(path: Path | None) -> Hashable:
    """What tells that a file changed; None when it cannot be looked at."""
    if path is None:
        return None
    try:
        found = path.stat()
    except OSError:
        return None
    return (str(path), found.st_mtime_ns, found.st_size)


class HomeTools:
    """Machinery that is made when it is first asked for, and kept."""

    def __init__(self, home: Home) -> None:
        self._home = home

    def reading(self) -> ReadTools:
        """What reading photographs needs. Raises MissingPart."""
        return self._reading

    @contextmanager
    def proving(self, paths: Sequence[Path], clocks: bool = False) -> Iterator[ProveTools]:
        """What looking at recordings needs: the same workers and memory as the command line."""
        with helpers(self._home, paths) as hands:
            ocr = wiring.ocr(1) if clocks else None
            yield ProveTools(wiring.video(), wiring.pictures(), hands, ocr)

    def containers(self) -> Containers:
        """Reader of what video files say of themselves."""
        return wiring.video()

    def hours(self, file: HoursFile) -> IgnitionLog | Schedule:
        """The ignition log or schedule in a file that was sent. Raises InputError, NotFound."""
        return sent_hours(file)

    def pictures(self) -> Pictures:
        """Decoder and encoder of still pictures."""
        return wiring.pictures()

    def painter(self) -> Repainter:
        """Pictures that can be stored anew with something painted over."""
        return wiring.painter()

    def pdf(self) -> PdfMaker:
        """Compiler of PDF documents."""
        return wiring.pdf()

    def plotter(self) -> Plotter:
        """Drawer of plots."""
        return wiring.plotter()

    def sweeps(self) -> Sweeps:
        """Sweeps over the samples of a log."""
        return wiring.sweeps()

    def bag(self, folder: Path) -> OpenBag:
        """The bag in a folder, for reading alone."""
        return DiskBag(folder)

    def signatures(self) -> Signatures:
        """Maker and checker of signatures."""
        return Ed25519()

    def bundles(self) -> BundleTools:
        """What bundles need, as the home's files are now."""
        listed, own = self._home.path / TRUSTED, self._home.keys().there()
        believed = dict(trusted_keys(listed)) if listed.exists() else {}
        if own is not None:
            believed.setdefault(own.public, "")
        public = own.public.hex() if own is not None else ""
        return BundleTools(self._home.merging(), believed, public, DiskNewBag)

    @contextmanager
    def packing(self, folder: Path) -> Iterator[Packing]:
        """What copying for evidence into the new ``folder`` needs."""
        key = FileKeys(self._home.path / "signing.key").own()
        desk = EvidenceDesk(wiring.video(), Ed25519(), wiring.clock(), wiring.pdf())
        yield Packing(DiskNewBag(folder), key, desk)

    @cached_property
    def _reading(self) -> ReadTools:
        return ReadTools(wiring.pictures(), wiring.ocr(), wiring.video())
