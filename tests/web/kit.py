"""The pages over a small fleet, and a browser without a screen (tests only)."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from starlette.testclient import TestClient
from tests.evidence_kit import Minutes, Sheet
from tests.visit_kit import MAP, STANDARD, VEHICLE, desk

from asfound.cli.sent_hours import sent_hours
from asfound.errors import NotFound
from asfound.jobs.evidence_copy import Desk as EvidenceDesk
from asfound.jobs.visit_journal import Desk
from asfound.jobs.visit_read import ReadTools
from asfound.jobs.visit_work import ProveTools
from asfound.model.caution import Caution
from asfound.model.coverage import IgnitionLog, Schedule
from asfound.model.fault_guide import FaultGuide
from asfound.model.firmware import Catalogue
from asfound.model.fleet import Fleet, Vehicle
from asfound.model.menu_map import MenuMap
from asfound.model.procedure import Procedure
from asfound.model.rollout import Rollout
from asfound.model.voltage_rules import VoltageRules
from asfound.ports.backends.bag_disk import DiskBag, DiskNewBag
from asfound.ports.backends.cautions_toml import load_cautions
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.devices_file import FileDevices
from asfound.ports.backends.faults_toml import SHIPPED, load_faults
from asfound.ports.backends.folders_disk import DiskFolders
from asfound.ports.backends.pdf_typst import TypstPdf
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.plots_vega import VegaPlotter
from asfound.ports.backends.procedure_toml import load_procedure, shipped_procedure_paths
from asfound.ports.backends.signatures_ed25519 import Ed25519, FileKeys
from asfound.ports.backends.store_sql import SqlStore
from asfound.ports.backends.sweep_numba import sweeps
from asfound.ports.backends.uploads_files import FileUploads
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.backends.voltage_rules_toml import load_voltage_rules
from asfound.ports.bags import OpenBag
from asfound.ports.containers import Containers
from asfound.ports.merging import Merging
from asfound.ports.pdf import PdfMaker
from asfound.ports.pictures import Pictures, Repainter
from asfound.ports.plots import Plotter
from asfound.ports.signatures import Signatures
from asfound.ports.sweeps import Sweeps
from asfound.web.app import create_app
from asfound.web.context import Server
from asfound.web.security import host_names
from asfound.web.services import BundleTools, HoursFile, Packing, Services, Settings

PORT = 8417
LAPTOP = ("127.0.0.1", 50000)
PHONE = ("192.168.7.21", 50000)
LAN = "192.168.7.20"
MARKUP = "<script>alert(1)</script>"
OTHERS = (
    replace(VEHICLE, number="41", plate="QA98 LNE", depot="South", vehicle_class="school"),
    replace(VEHICLE, number="B/12 Ä", plate=MARKUP, kind=MARKUP, depot="South"),
)


class SmallShelf:
    """The small recorder's fleet."""

    def __init__(self, vehicles: tuple[Vehicle, ...] = (VEHICLE, *OTHERS)) -> None:
        self._fleet = Fleet(f"Brindlemere {MARKUP}", "Europe/London", vehicles, (STANDARD,))
        self._cautions = load_cautions()

    def fleet(self) -> Fleet:
        return self._fleet

    def menu_map(self, map_id: str) -> MenuMap:
        if map_id != MAP.id:
            raise NotFound(f"no menu map {map_id!r}")
        return MAP

    def procedure(self, procedure_id: str) -> Procedure:
        paths = shipped_procedure_paths()
        if procedure_id not in paths:
            raise NotFound(f"no procedure {procedure_id!r}")
        return load_procedure(paths[procedure_id], self._cautions)

    def procedure_ids(self) -> Sequence[str]:
        return sorted(shipped_procedure_paths())

    def cautions(self) -> Mapping[str, Caution]:
        return self._cautions

    def voltage_rules(self) -> VoltageRules:
        return load_voltage_rules()

    def faults(self) -> FaultGuide:
        return load_faults(SHIPPED, self._cautions)

    def catalogue(self) -> Catalogue | None:
        return None

    def rollout_ids(self) -> Sequence[str]:
        return ()

    def rollout(self, rollout_id: str) -> Rollout:
        raise NotFound(f"no rollout {rollout_id!r}")


class NoTools:
    """Machinery for tests that read nothing; recordings are looked at in this process. ``held``:
    the store to put together, and a dict of believed keys, which tests fill."""

    def __init__(self, merging: Merging) -> None:
        self.held = BundleTools(merging, {}, "", DiskNewBag)

    def reading(self) -> ReadTools:
        raise NotImplementedError

    @contextmanager
    def proving(self, paths: Sequence[Path], clocks: bool = False) -> Iterator[ProveTools]:
        yield ProveTools(AvVideo(), PillowPictures())

    def containers(self) -> Containers:
        return AvVideo()

    def hours(self, file: HoursFile) -> IgnitionLog | Schedule:
        return sent_hours(file)

    def pictures(self) -> Pictures:
        return PillowPictures()

    def painter(self) -> Repainter:
        return PillowPictures()

    def pdf(self) -> PdfMaker:
        return TypstPdf()

    def plotter(self) -> Plotter:
        return VegaPlotter()

    def sweeps(self) -> Sweeps:
        return sweeps()

    def bag(self, folder: Path) -> OpenBag:
        return DiskBag(folder)

    def signatures(self) -> Signatures:
        return Ed25519()

    def bundles(self) -> BundleTools:
        return self.held

    @contextmanager
    def packing(self, folder: Path) -> Iterator[Packing]:
        desk = EvidenceDesk(Minutes(), Ed25519(), SystemClock(), Sheet())
        yield Packing(DiskNewBag(folder), Ed25519().make(), desk)


def services(
    folder: Path,
    shelf: SmallShelf | None = None,
    bags: Mapping[str, Path] | None = None,
    recordings: Mapping[str, Path] | None = None,
) -> Services:
    """Services over a fresh database in ``folder``; ``bags``, ``recordings``: folders by name."""
    at: Desk = desk(folder, f"sqlite:///{folder / 'asfound.db'}")
    assert isinstance(at.store, SqlStore)
    devices, uploads = FileDevices(folder / "devices.json"), FileUploads(folder / "uploads")
    keys = FileKeys(folder / "signing.key")
    return Services(
        at, shelf or SmallShelf(), NoTools(at.store), devices, uploads, at.store, at.store, keys,
        DiskFolders(recordings or {}), DiskFolders(bags or {}),
    )  # fmt: skip


class Browser(TestClient):
    """A browser at ``seat``; ``server`` is what it talks to."""

    def __init__(self, made: Services, seat: tuple[str, int] = LAPTOP, lan: bool = False) -> None:
        addresses = ["localhost", "127.0.0.1", *([LAN] if lan else [])]
        address = f"http://{LAN}:{PORT}" if lan else ""
        app = create_app(made, Settings(host_names(addresses, PORT), lan, address))
        self.server: Server = app.state.server
        host = "localhost" if seat == LAPTOP else LAN
        super().__init__(app, f"http://{host}:{PORT}", client=seat, follow_redirects=False)

    def from_seat(self, seat: tuple[str, int]) -> TestClient:
        """Another browser on the same server."""
        host = "localhost" if seat == LAPTOP else LAN
        base = f"http://{host}:{PORT}"
        return TestClient(self.app, base, client=seat, follow_redirects=False)


def token(client: TestClient) -> str:
    """The session's token."""
    answer = client.get("/settings")
    found = re.search(r'name="csrf" value="([0-9a-f]+)"', answer.text)
    if found is None:
        found = re.search(r'name="csrf" value="([0-9a-f]+)"', client.get("/pair").text)
    assert found, answer.text
    return found[1]


def send(client: TestClient, path: str, fields: Mapping[str, str] | None = None) -> str:
    """Send a form, and return where it led. Fails when it was not taken."""
    answer = client.post(path, data={"csrf": token(client), **(fields or {})})
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]
