"""The demonstration's whole visit by pages alone, from an empty first page to a closed visit with
a signed report, on a phone. Real photographs and recordings go through the real uploads, reader
and prover; nothing but pages writes to the visit.

Every page on the way is looked at in both sizes and both themes. What is expected is what the
scenario put in: two smears, three slips of the key, one camera that is stuck, one hold.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import pypdfium2
import pytest
from playwright.sync_api import Browser, Page, Request, Route, expect
from tests.journeys.test_pages_visit import SHOTS, Server, watch
from tests.pages_kit import free_port, look_everywhere, seat, sign_by_finger

from asfound.cli.home import Home
from asfound.cli.main import call
from asfound.demo import scenario
from asfound.demo.footage import Drive, Fault, as_promised, film
from asfound.demo.photos import Session, shoot
from asfound.demo.smear import smear
from asfound.demo.themes import TUNING_THEMES
from asfound.errors import ExitCode
from asfound.jobs.visit_work import visit_expectation
from asfound.model.menu_map import MenuMap
from asfound.model.values import shown

READ_MS = 300_000
"""Patience of a test on a busy machine; no claim."""

SEED = 217
SECRET_PAGES = 2 * 3 + 1
"""Pages with a password or code: three as found and as left, one of them mended once more."""


@dataclass
class Walk:
    """One run of the visit: its browser page, its server, and where its files lie."""

    page: Page
    server: Server
    folder: Path
    menu_map: MenuMap
    visit: str = ""
    looked: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    @property
    def home(self) -> Home:
        """The home folder, to see what was written."""
        return Home(self.server.home)

    def look(self, name: str) -> None:
        """The page as it stands, in every size and theme."""
        self.looked.append(name)
        number = f"{len(self.looked):02}"
        self.faults += look_everywhere(self.page, f"{number}-{name}", SHOTS / "whole")

    def go(self, end: str = "") -> None:
        """A page of the visit."""
        self.page.goto(f"{self.server.address}/visits/{self.visit}{end}")

    def tab(self, words: str) -> None:
        """Tap a page of the visit."""
        tabs = self.page.get_by_role("navigation", name="Pages of the visit")
        tabs.get_by_role("link", name=words).click()

    def now(self, title: str) -> None:
        """The step is the present one."""
        expect(self.page.get_by_role("heading", name=title, level=2)).to_be_visible()

    def done(self, note: str) -> None:
        """Tick the present step off, with a note."""
        card = self.page.locator(".now.plate")
        card.get_by_label("What there is to say").fill(note)
        card.get_by_role("button", name="Done", exact=True).click()

    def photographs(
        self, name: str, screen: Mapping[str, str], firmware: str, pages: frozenset[str] | None
    ) -> list[Path]:
        """The demonstration's photographs of what the monitor shows."""
        offset = scenario.CLOCK_FOUND_S if name == "found" else scenario.CLOCK_LEFT_S
        session = Session(
            TUNING_THEMES[0], "clean", SEED, pages=pages, size=scenario.PHOTO_SIZE,
            clock_offset_s=offset,
        )  # fmt: skip
        made = shoot(self.menu_map, screen, firmware, session, self.folder / name)
        if name == "found":
            for number, smeared in enumerate(scenario.SMEARED):
                for photo in made:
                    if smeared in photo.boxes:
                        smear(photo, smeared, SEED + number)
        return [photo.path for photo in made]


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    home = tmp_path / "home"
    home.mkdir()
    shutil.copy(scenario.FLEET_FILE, home / "fleet.toml")
    made = Server(home, free_port())
    made.start()
    yield made
    made.kill()


def test_the_whole_visit_by_pages(browser: Browser, server: Server, tmp_path: Path) -> None:
    home = Home(server.home)
    menu_map = home.menu_map(home.fleet().vehicle(scenario.VEHICLE).recorder.map_id)
    with seat(browser, "phone", "dark") as context:
        page = context.new_page()
        said = watch(page)
        walk = Walk(page, server, tmp_path, menu_map)
        try:
            for chapter in CHAPTERS:
                chapter(walk)
        except BaseException:
            page.screenshot(path=SHOTS / "whole" / "failed.png", full_page=True)
            raise
        assert not walk.faults, "\n".join(walk.faults)
        # The aborted piece of an upload is the one complaint that was asked for.
        assert [line for line in said if "ERR_CONNECTION_FAILED" not in line] == []


def hold_footage(walk: Walk) -> None:
    """The office holds the footage of an accident."""
    page = walk.page
    page.goto(walk.server.address)
    expect(page.get_by_text("No visit is open.")).to_be_visible()
    walk.look("today-empty")
    page.get_by_role("link", name="Choose a vehicle").click()
    page.get_by_label("Fleet number, plate or serial number").fill("XKM")
    page.get_by_role("button", name="Find").click()
    expect(page.get_by_text("1 vehicle", exact=True)).to_be_visible()
    walk.look("vehicles")
    page.get_by_role("link", name=re.compile("^217")).click()
    walk.look("vehicle")
    page.get_by_role("link", name="Holds").click()
    page.get_by_label("From").fill(f"{scenario.CLAIM_START:%Y-%m-%dT%H:%M}")
    page.get_by_label("To", exact=True).fill(f"{scenario.CLAIM_END:%Y-%m-%dT%H:%M}")
    page.get_by_label("What happened").fill(scenario.CLAIM)
    page.get_by_label("Your name").fill(scenario.OFFICE)
    page.get_by_role("button", name="Place the hold").click()
    expect(page.get_by_text("on hold", exact=True)).to_be_visible()
    walk.look("holds")
    page.get_by_role("link", name=re.compile("Settings|Ruaridh")).click()
    page.get_by_label("Your name").fill(scenario.TECHNICIAN)
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("Kept.")).to_be_visible()
    walk.look("settings")


def open_it(walk: Walk) -> None:
    """The technician opens the visit, finds, powers and plugs in."""
    page = walk.page
    page.goto(f"{walk.server.address}/vehicles/217")
    page.get_by_role("link", name="Open a visit").click()
    page.get_by_role("radio", name=re.compile("Firmware and reset")).check()
    walk.look("open")
    page.get_by_role("button", name="Open the visit").click()
    page.wait_for_url(re.compile("/visits/"))
    walk.visit = page.url.rpartition("/")[2]
    walk.now("Find the recorder")
    expect(page.get_by_text("Footage on hold").first).to_be_visible()
    walk.look("visit")
    walk.done("locker behind the driver, upper shelf")
    walk.now("Give it power")
    walk.done("isolator on, ignition on, 26.3 V at the plug")
    walk.now("Plug in the monitor")
    walk.done("picture steady")
    walk.now("Photograph every page as found")
    walk.look("visit-read")


def read_found(walk: Walk) -> None:
    """Every page is photographed; what each shows comes by itself."""
    page = walk.page
    page.locator(".now.plate").get_by_role("link", name="Photographs").click()
    walk.look("photographs-empty")
    firmware = walk.home.fleet().vehicle(scenario.VEHICLE).recorder.firmware
    screen = scenario.as_found_screen(walk.menu_map, firmware)
    files = walk.photographs("found", screen, firmware, None)
    page.set_input_files("#take-one", files)
    expect(page.locator("#sending li").first.or_(page.locator(".photos li").first)).to_be_visible()
    walk.look("photographs-arriving")
    expect(page.get_by_text("all there")).to_be_visible(timeout=READ_MS)
    expect(page.locator(".photos .chip.good")).to_have_count(len(files), timeout=READ_MS)
    expect(page.locator("#sending li")).to_have_count(0)
    walk.look("photographs")
    page.locator(".photos a").filter(has_text="Office").click()
    expect(page.locator("svg .box.doubt")).to_have_count(1)
    walk.look("photograph")
    page.get_by_role("link", name="Photographs").first.click()
    page.get_by_role("link", name="Settle 2 doubts").click()
    settle(walk, screen)


def settle(walk: Walk, screen: Mapping[str, str]) -> None:
    """A person looks at the recorder and says what stands there."""
    page = walk.page
    asked: list[str] = []
    nothing = page.get_by_role("heading", name="Nothing is in doubt")
    while True:
        expect(page.locator(".do-skip").or_(nothing)).to_be_visible()
        if nothing.count():
            break
        name = page.locator(".do-skip input[name=field]").input_value()
        if name not in asked:
            walk.look(f"doubt-{len(asked) + 1}")
        asked.append(name)
        assert len(asked) <= len(scenario.SMEARED), asked
        text = shown(walk.menu_map.field(name).type, screen[name])
        offers = page.locator(".do-offers button").filter(has_text=re.compile(re.escape(text)))
        if offers.count():
            offers.first.click()
        else:
            page.get_by_label("Or type what the recorder shows").fill(text)
            page.get_by_role("button", name="Take it").click()
        asking = page.locator(f".do-skip input[name=field][value='{name}']")
        expect(asking).to_have_count(0)
    assert sorted(asked) == sorted(scenario.SMEARED)
    walk.look("doubts-none")
    page.get_by_role("button", name="Done: tick the step off").click()
    walk.now("Load the new firmware")


def change(walk: Walk) -> None:
    """New firmware, reset, and every setting keyed in and ticked off."""
    page = walk.page
    page.get_by_label("Firmware that the recorder shows now").select_option(scenario.FIRMWARE)
    walk.look("visit-firmware")
    walk.done("written from the depot's stick")
    walk.now("Reset to factory settings")
    walk.done("factory settings confirmed on the monitor")
    walk.now("Key the settings back in")
    page.locator(".now.plate").get_by_role("link", name="Re-key sheet").click()
    walk.look("rekey-unplanned")
    page.get_by_role("button", name="Work out the keys").click()
    expect(page.locator(".key-row[data-now]")).to_be_visible()
    walk.look("rekey-one")
    rows = page.locator(".key-row").count()
    page.get_by_role("link", name="Whole pages").click()
    expect(page.locator(".key-row").last).to_be_visible()
    walk.look("rekey-pages")
    page.get_by_role("link", name="One at a time").click()
    for number in range(rows):
        expect(page.locator("[data-done]")).to_have_text(str(number))
        page.locator(".key-row[data-now] .tick-key").click()
    expect(page.get_by_role("heading", name="Every setting is keyed in")).to_be_visible()
    walk.look("rekey-done")
    page.get_by_role("link", name="Back to the steps").click()
    walk.now("Key the settings back in")
    walk.done("every row of the sheet ticked")
    walk.now("Photograph every page as left")


def read_left(walk: Walk) -> None:
    """Photographed again, compared, mended, photographed and compared once more."""
    page = walk.page
    target = walk.home.visit(walk.visit).target
    assert target is not None
    values = target.as_dict()
    slips = scenario.keyed_screen(walk.menu_map, values, mended=False)
    files = walk.photographs("left-1", slips, scenario.FIRMWARE, None)
    page.locator(".now.plate").get_by_role("link", name="Photographs").click()
    expect(page.get_by_role("heading", name="Photographs as left")).to_be_visible()
    page.set_input_files("#choose", files)
    expect(page.get_by_text("all there")).to_be_visible(timeout=READ_MS)
    walk.look("photographs-left")
    walk.tab("Compare")
    walk.look("compare-not-yet")
    page.get_by_role("button", name="Compare now").click()
    open_now = page.get_by_role("heading", name=f"{len(scenario.MISTAKES)} settings are open")
    expect(open_now).to_be_visible()
    walk.look("compare-open")
    wrong = frozenset(walk.menu_map.page_of(name).id for name in scenario.MISTAKES)
    mended = scenario.keyed_screen(walk.menu_map, values, mended=True)
    again = walk.photographs("left-2", mended, scenario.FIRMWARE, wrong)
    page.get_by_role("link", name="Photograph these pages again").click()
    page.set_input_files("#choose", again)
    expect(page.get_by_text("round 2")).to_be_visible(timeout=READ_MS)
    walk.tab("Compare")
    page.get_by_role("button", name="Compare").click()
    expect(page.get_by_role("heading", name="Nothing is open")).to_be_visible()
    walk.look("compare-fine")
    walk.go()
    if page.get_by_role("heading", name="Photograph every page as left", level=2).count():
        walk.done("nothing open any more")


def swap_drive(walk: Walk) -> None:
    """The hold keeps the step locked until the office releases it."""
    page = walk.page
    walk.now("Format the drive")
    card = page.locator(".now.plate")
    expect(card.get_by_role("button", name="Done", exact=True)).to_have_count(0)
    walk.look("visit-locked-by-hold")
    card.get_by_role("link", name="Holds").click()
    page.get_by_text("Release it").click()
    page.get_by_label("Why it is no longer needed").fill(scenario.RELEASE)
    walk.look("holds-release")
    page.get_by_role("button", name="Release with this reason").click()
    expect(page.get_by_text("released", exact=True)).to_be_visible()
    walk.look("holds-released")
    walk.go()
    walk.now("Format the drive")
    walk.done("formatted on the recorder, footage of the claim is safe elsewhere")
    walk.now("Prove that each camera records")


def prove(walk: Walk) -> None:
    """Recordings are sent from the page, break off, go on, and are looked at."""
    page = walk.page
    expectation = visit_expectation(walk.home.visit(walk.visit), walk.menu_map)
    stuck = {scenario.FROZEN_CHANNEL: (Fault("frozen", from_s=3.0),)}
    cameras = as_promised(expectation, ("road", "dusk", "road", "rain"), stuck)
    start = datetime.now(UTC).replace(microsecond=0)
    files = film(Drive(SEED, start, scenario.FOOTAGE_SECONDS, cameras), walk.folder / "footage")
    page.locator(".now.plate").get_by_role("link", name="Proof").click()
    walk.look("proof-empty")
    sent: list[int] = []
    cut = iter([False, True])

    def pieces(route: Route, request: Request) -> None:
        if request.method == "PATCH":
            sent.append(int(request.headers["upload-offset"]))
            if next(cut, False):
                route.abort("connectionfailed")
                return
        route.continue_()

    page.route("**/api/v1/visits/*/uploads/*", pieces)
    page.set_input_files("#clips", files)
    look_at = page.get_by_role("button", name=f"Look at the {len(files)} recordings")
    expect(look_at).to_be_visible(timeout=READ_MS)
    expect(page.locator("#sending li")).to_have_count(0)
    assert sent[0] == 0 and sent[1] == sent[2], "it went on where it broke off"
    walk.look("proof-sent")
    look_at.click()
    proved = page.get_by_role("heading", name="There are faults.")
    under_way = page.get_by_role("heading", name="Looking at recordings")
    expect(under_way.or_(proved).first).to_be_visible()
    expect(proved).to_be_visible(timeout=READ_MS)
    expect(page.get_by_role("heading", name="picture stands still")).to_have_count(1)
    expect(page.get_by_role("heading", name=f"Camera {scenario.FROZEN_CHANNEL}")).to_be_visible()
    walk.look("proof")
    page.get_by_role("link", name="Picture of finding").first.click()
    expect(page.get_by_role("dialog")).to_be_visible()
    walk.look("proof-picture")
    page.get_by_role("button", name="Close the picture").click()
    page.get_by_role("button", name="Delete them from the laptop").click()
    expect(page.get_by_role("button", name="Delete them from the laptop")).to_have_count(0)
    expect(proved).to_be_visible()
    walk.go()
    if page.get_by_role("heading", name="Prove that each camera records", level=2).count():
        walk.done("looked at with the technician's own eyes, too")


def close(walk: Walk) -> None:
    """Passwords are painted over; the stuck camera is passed with a reason; the visit is closed."""
    page = walk.page
    walk.now("Close the visit")
    walk.look("visit-close-locked")
    card = page.locator(".now.plate")
    card.get_by_role("link", name="Paint passwords over").click()
    expect(page.get_by_role("heading", name=re.compile("may show passwords"))).to_be_visible()
    walk.look("passwords")
    page.get_by_role("button", name="Paint over and delete the originals").click()
    hidden = page.get_by_role("heading", name="No stored photograph shows a password")
    expect(hidden).to_be_visible(timeout=READ_MS)
    walk.look("passwords-hidden")
    page.get_by_role("link", name="Back to the visit").click()
    card.get_by_text("Pass it all the same").click()
    card.get_by_label("Reason, kept in the journal").fill(scenario.OVERRIDE)
    walk.look("visit-override")
    card.get_by_role("button", name="Override with this reason").click()
    expect(card.get_by_role("button", name="Close the visit")).to_be_visible()
    walk.look("visit-close")
    card.get_by_label("What there is to say").fill("handed to the yard foreman")
    card.get_by_role("button", name="Close the visit").click()
    expect(page.get_by_role("heading", name="Closed")).to_be_visible()
    walk.look("visit-closed")


def report(walk: Walk) -> None:
    """The report is looked at, signed with a finger, and fetched."""
    page = walk.page
    walk.tab("Report")
    expect(page.get_by_role("img", name=re.compile("^Page 1 of"))).to_be_visible(timeout=READ_MS)
    walk.look("report")
    page.get_by_role("radio", name="for the operator").check()
    page.get_by_label("Name", exact=True).fill("Rosa Lint")
    sign_by_finger(page)
    expect(page.locator("form[data-drawn]")).to_have_count(1)
    page.get_by_role("button", name="Sign", exact=True).click()
    expect(page.get_by_role("img", name="Signature of Rosa Lint")).to_be_visible()
    expect(page.get_by_text("signed as it stands")).to_be_visible()
    expect(page.get_by_role("img", name=re.compile("^Page 1 of"))).to_be_visible(timeout=READ_MS)
    walk.look("report-signed")
    with page.expect_download() as fetched:
        page.get_by_role("link", name="Fetch the PDF").click()
    target = walk.folder / "report.pdf"
    fetched.value.save_as(target)
    # Read back by pdfium, an independent library.
    document = pypdfium2.PdfDocument(target)
    text = " ".join(sheet.get_textpage().get_text_range() for sheet in document)
    document.close()
    flat = " ".join(text.replace("\u200b", "").split())
    for words in (walk.visit, "Rosa Lint", "Not everything is as agreed", "receipt 0417"):
        assert words in flat, words
    walk.look("end")
    page.goto(walk.server.address)
    expect(page.get_by_text("Closed last")).to_be_visible()
    walk.look("today-closed")
    page.goto(f"{walk.server.address}/vehicles/217")
    walk.look("vehicle-after")
    assert call(["visit", "check", walk.visit, "--home", str(walk.server.home)]) == ExitCode.OK
    state = walk.home.visit(walk.visit)
    assert state.closed and len(state.hidden) >= SECRET_PAGES
    assert {item.name for item in state.signatures} == {"Rosa Lint"}
    assert {item.by for item in state.done} == {scenario.TECHNICIAN}


CHAPTERS: tuple[Callable[[Walk], None], ...] = (
    hold_footage, open_it, read_found, change, read_left, swap_drive, prove, close, report,
)  # fmt: skip
