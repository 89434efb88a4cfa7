"""`asfound prove --strip --sheet --csv`: files beside the answer, in a real browser as well."""

from __future__ import annotations

import csv
import json
import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal
from xml.etree import ElementTree

import pytest
import typer
from playwright.sync_api import Browser
from typer.testing import CliRunner

from asfound.cli import prove
from asfound.demo.footage import Camera, Drive, Fault, film
from asfound.errors import AsfoundError, NotFound, UsageError
from asfound.ports.backends.proof_json import RecordingTable, load_proof

RUNNER = CliRunner()


@pytest.fixture(scope="module")
def drive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two channels, one of them black for a while, and a file of nothing with a nasty name."""
    folder = tmp_path_factory.mktemp("drive")
    cameras = (
        Camera(1, "ROAD", "road", 320, 192, 6, faults=(Fault("black", 3, 8),)),
        Camera(2, "DOOR", "road", 320, 192, 6),
    )
    film(Drive(8, datetime(2026, 3, 1, 8, 0, tzinfo=UTC), 12, cameras), folder)
    (folder / "=HYPERLINK(1) cam2.mp4").write_bytes(b"")
    return folder


def run(*arguments: str | Path) -> tuple[int, str]:
    app = typer.Typer()

    @app.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    prove.register(app)
    result = RUNNER.invoke(app, ["prove", *map(str, arguments)])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result.exit_code, result.stdout


@pytest.fixture(scope="module")
def made(drive: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder with all three files."""
    out = tmp_path_factory.mktemp("out")
    code, said = run(
        drive, "--home", out / "home", "--workers", "0", "--zone", "Europe/Madrid",
        "--strip", out / "strip.svg", "--sheet", out / "sheet.html", "--csv", out / "found.csv",
    )  # fmt: skip
    assert code == 1
    assert said.count("wrote ") == 3
    return out


def test_the_table_holds_findings_and_doubts_and_no_formula(made: Path) -> None:
    with (made / "found.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    [black] = [row for row in rows if row["kind"] == "black"]
    assert float(black["from_s"]) == pytest.approx(3, abs=1)
    assert black["from"].startswith("2026-03-01T08:00:0") and black["from"].endswith("Z")
    assert len(black["evidence"]) == 64, "SHA-256, hex"
    assert {row["what"] for row in rows} == {"finding", "unclear"}
    cells = [cell for row in rows for cell in row.values()]
    assert not any(cell.startswith(("=", "+", "-", "@")) for cell in cells)


def test_the_strip_is_well_formed(made: Path) -> None:
    root = ElementTree.parse(made / "strip.svg").getroot()
    assert "black picture" in "".join(root.itertext())


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_the_sheet_fits_a_phone_and_a_desk(
    browser: Browser, made: Path, width: int, scheme: Literal["light", "dark"]
) -> None:
    context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto((made / "sheet.html").as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
    strips = page.locator("svg.strip")
    seen = [strips.nth(number).is_visible() for number in range(strips.count())]
    assert seen == ([False, True] if width < 500 else [True, False])
    ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    light = sum(int(part) for part in ground[4:-1].split(",")[:3]) > 384
    assert light == (scheme == "light")
    # WCAG 2.2, 1.4.12: text that is read is not below about 9 CSS pixels here.
    sizes = page.evaluate(
        "[...document.querySelectorAll('svg.strip text')].filter(t => t.getBoundingClientRect()"
        ".width > 0).map(t => t.getBoundingClientRect().height)"
    )
    assert sizes and min(sizes) >= 11
    context.close()


def test_a_second_run_replaces_its_own_files_only(drive: Path, made: Path, tmp_path: Path) -> None:
    table = tmp_path / "found.csv"
    shutil.copyfile(made / "found.csv", table)
    code, _ = run(drive, "--home", made / "home", "--workers", "0", "--csv", table)
    assert code == 1 and table.read_bytes()
    mine = tmp_path / "mine.csv"
    mine.write_text("my own notes\n")
    with pytest.raises(UsageError, match="is not a table of findings"):
        run(drive, "--csv", mine)
    assert mine.read_text() == "my own notes\n"


@pytest.mark.parametrize(
    ("arguments", "error", "says"),
    [
        (["--sheet", "nowhere/sheet.html"], NotFound, "no such folder"),
        (["--strip", "."], UsageError, "is a folder"),
        (["--zone", "Middle/Earth"], UsageError, "--zone"),
    ],
)
def test_mistakes_are_told_before_the_work(
    drive: Path, arguments: list[str], error: type[AsfoundError], says: str
) -> None:
    with pytest.raises(error, match=says):
        run(drive, *arguments)


def test_what_prove_writes_can_be_read_again(drive: Path, made: Path) -> None:
    """The JSON of `prove` comes back; keys that later versions add are passed over."""
    code, said = run(drive, "--home", made / "home", "--workers", "0", "--json")
    assert code == 1
    path = made / "proof.json"
    path.write_text(said, encoding="utf-8")
    written, back = json.loads(said), prove.proof_data(load_proof(path))
    assert back["verdict"] == written["verdict"]
    recordings = back["recordings"]
    assert isinstance(recordings, list) and len(recordings) == len(written["recordings"])
    for recording, original in zip(recordings, written["recordings"], strict=True):
        for key in RecordingTable.model_fields:
            assert recording[key] == original[key], key
