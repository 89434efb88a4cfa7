"""The home folder: databases, blobs, fleet file, and the user's own maps and procedures.

``asfound.db``, ``proofs.db``, ``blobs/``, ``fleet.toml``, ``firmware.toml``, ``rollouts/*.toml``,
``maps/*.toml``, ``procedures/*.toml``.
Own maps and procedures stand before shipped ones of the same id.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Annotated
from zoneinfo import ZoneInfo

import platformdirs
import typer

from asfound.calc.writer_tag import writer_tag
from asfound.errors import InputError, NotFound
from asfound.jobs.drive_register import DriveDesk
from asfound.jobs.fault_tables import NO_COUNTS, FaultCounts, learned
from asfound.jobs.firmware_rules import FleetRules
from asfound.jobs.visit_journal import Desk, Rules, load_visit
from asfound.model.caution import Caution
from asfound.model.fault_guide import FaultGuide
from asfound.model.firmware import Catalogue
from asfound.model.fleet import Fleet
from asfound.model.menu_map import MenuMap
from asfound.model.procedure import Procedure
from asfound.model.rollout import Rollout
from asfound.model.visit import VisitState
from asfound.ports.backends import map_toml
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.cautions_toml import load_cautions
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.faults_toml import SHIPPED as SHIPPED_FAULTS
from asfound.ports.backends.faults_toml import load_faults
from asfound.ports.backends.firmware_toml import catalogue_and_hash
from asfound.ports.backends.fleet_toml import load_fleet
from asfound.ports.backends.procedure_toml import load_procedure, shipped_procedure_paths
from asfound.ports.backends.rollout_toml import load_rollout
from asfound.ports.backends.signatures_ed25519 import FileKeys
from asfound.ports.backends.store_sql import SqlStore
from asfound.ports.blobs import Blobs
from asfound.ports.drive_log import DriveLog
from asfound.ports.merging import Merging
from asfound.ports.request_log import RequestLog
from asfound.ports.store import Store

CATALOGUE = "firmware.toml"
ROLLOUTS = "rollouts"
STORE_VARIABLE = "ASFOUND_STORE"
"""Environment variable with a database URL, for several people on one PostgreSQL."""

HomeOption = Annotated[
    Path | None,
    typer.Option(
        "--home",
        envvar="ASFOUND_HOME",
        metavar="DIR",
        help="Folder with fleet file, database and pictures.",
    ),
]
ByOption = Annotated[
    str, typer.Option("--by", envvar="ASFOUND_BY", metavar="NAME", help="Who does it.")
]


@dataclass(frozen=True)
class Home:
    """One home folder. Nothing in it is opened or made before it is asked for."""

    path: Path

    def store(self) -> Store:
        """Journals and holds: this folder's database, or the one of ASFOUND_STORE."""
        return self._store

    def requests(self) -> RequestLog:
        """Logs of footage requests and deletions, in the same database."""
        return self._store

    def merging(self) -> Merging:
        """The same database, to put together with others."""
        return self._store

    def keys(self) -> FileKeys:
        """The key that this home signs with."""
        return FileKeys(self.path / "signing.key")

    def writer(self) -> str:
        """This home's tag in ids; "" while it has no key. Raises StorageError, InputError."""
        pair = self.keys().there()
        return writer_tag(pair.public) if pair is not None else ""

    def drives(self) -> DriveLog:
        """Logs of drives, in the same database."""
        return self._store

    def drive_desk(self) -> DriveDesk:
        """What acts on drives need. The key that names this home's logs is made at first use."""
        return DriveDesk(
            self.drives(), self.store(), self.requests(), self.blobs(), SystemClock(), self.keys()
        )

    def blobs(self) -> Blobs:
        """Photographs, readings, proofs."""
        return FileBlobs(self.path / "blobs")

    def proofs(self) -> Path:
        """The file that keeps what recordings showed, so that only new ones are looked at."""
        return self.path / "proofs.db"

    def desk(self) -> Desk:
        """What acts on visits need."""
        return Desk(self.store(), self.blobs(), SystemClock(), self.rules(), self.writer())

    def rules(self) -> Rules:
        """What this folder's firmware catalogue and rollouts say."""
        return FleetRules(HomeBooks(self), self.store(), self.blobs(), SystemClock())

    def fleet(self) -> Fleet:
        """The fleet. Raises NotFound when there is no fleet file, InputError when it is wrong."""
        return self._fleet

    def menu_map(self, map_id: str) -> MenuMap:
        """A menu map by its id. Raises NotFound, MapError."""
        paths = self.map_paths()
        if map_id not in paths:
            raise NotFound(
                f"no menu map {map_id!r}; known are {', '.join(sorted(paths))}. Put your own "
                f"into {self.path / 'maps'}"
            )
        made = map_toml.load_map(paths[map_id])
        if made.id != map_id:
            raise NotFound(f"{paths[map_id]}: describes {made.id!r}; name the file {made.id}.toml")
        return made

    def map_paths(self) -> dict[str, Path]:
        """Every menu map: id -> file; own ones before shipped ones."""
        own = {path.stem: path for path in sorted((self.path / "maps").glob("*.toml"))}
        return map_toml.shipped_map_paths() | own

    def procedure(self, procedure_id: str) -> Procedure:
        """A procedure by its id. Raises NotFound, InputError."""
        paths = self.procedure_paths()
        if procedure_id not in paths:
            raise NotFound(
                f"no procedure {procedure_id!r}; known are {', '.join(sorted(paths))}. Put your "
                f"own into {self.path / 'procedures'}"
            )
        made = load_procedure(paths[procedure_id], self.cautions())
        if made.id != procedure_id:
            raise InputError(
                f"{paths[procedure_id]}: has the id {made.id!r}; name the file {made.id}.toml"
            )
        return made

    def procedure_paths(self) -> dict[str, Path]:
        """Every procedure: id -> file; own ones before shipped ones."""
        own = {path.stem: path for path in sorted((self.path / "procedures").glob("*.toml"))}
        return shipped_procedure_paths() | own

    def cautions(self) -> Mapping[str, Caution]:
        """Cautions by id."""
        return self._cautions

    def faults_path(self) -> Path:
        """The fault guide's file: the home folder's own, else the shipped one."""
        own = self.path / "faults.toml"
        return own if own.exists() else SHIPPED_FAULTS

    def faults(self, path: Path | None = None) -> FaultGuide:
        """The fault guide in ``path``, else the home folder's. Raises NotFound, InputError."""
        return load_faults(path or self.faults_path(), self.cautions())

    def fault_counts(self, guide: FaultGuide) -> FaultCounts:
        """What closed visits teach of faults; nothing while no visit was ever opened here, so that
        asking makes no database. Raises StorageError, IntegrityError."""
        if STORE_VARIABLE not in os.environ and not (self.path / "asfound.db").exists():
            return NO_COUNTS
        return learned(guide, store=self.store())

    def visit(self, visit: str) -> VisitState:
        """A visit as it stands. Raises NotFound, IntegrityError."""
        return load_visit(visit, store=self.store(), blobs=self.blobs(), rules=self.rules())

    def visit_map(self, state: VisitState) -> MenuMap:
        """The menu map of a visit's recorder."""
        return self.menu_map(state.vehicle.recorder.map_id)

    def zone(self) -> ZoneInfo:
        """The fleet's time zone; times are shown in it."""
        return ZoneInfo(self.fleet().time_zone)

    @cached_property
    def _store(self) -> SqlStore:
        url = os.environ.get(STORE_VARIABLE)
        return SqlStore(url or f"sqlite:///{self.path / 'asfound.db'}")

    @cached_property
    def _fleet(self) -> Fleet:
        path = self.path / "fleet.toml"
        if not path.exists():
            raise NotFound(
                f"{path}: there is no fleet file; write one (docs/fleet.md), choose another "
                "folder (--home), or lay out an example with `asfound demo`"
            )
        return load_fleet(path)

    @cached_property
    def _cautions(self) -> Mapping[str, Caution]:
        return load_cautions()


@dataclass(frozen=True)
class HomeBooks:
    """Catalogue and rollouts of a home folder (ports/firmware_books.py)."""

    home: Home

    def catalogue(self) -> tuple[Catalogue, str] | None:
        """``firmware.toml``; see FirmwareBooks."""
        path = self.home.path / CATALOGUE
        return catalogue_and_hash(path) if path.exists() else None

    def rollouts(self) -> Sequence[Rollout]:
        """``rollouts/*.toml``; see FirmwareBooks."""
        return [load_rollout(path) for path in sorted((self.home.path / ROLLOUTS).glob("*.toml"))]

    def fleet(self) -> Fleet:
        """See FirmwareBooks."""
        return self.home.fleet()

    def menu_map(self, map_id: str) -> MenuMap:
        """See FirmwareBooks."""
        return self.home.menu_map(map_id)


def home_at(path: Path | None) -> Home:
    """The home folder named on the command line, or the user's own."""
    return Home(path if path is not None else platformdirs.user_data_path("asfound"))
