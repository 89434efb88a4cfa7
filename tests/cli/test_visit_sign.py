"""`asfound visit sign`, called as a user calls it, and what `show` and `report` say of it."""

from __future__ import annotations

from pathlib import Path

import pypdf
import pytest
from PIL import Image, ImageDraw

from asfound.cli import report, visit, visit_sign
from asfound.cli.home import home_at
from asfound.demo.scenario import FLEET_FILE, VEHICLE
from asfound.errors import NotFound, UsageError
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.ports.backends.clock_system import SystemClock


@pytest.fixture
def opened(tmp_path: Path) -> str:
    (tmp_path / "fleet.toml").write_bytes(FLEET_FILE.read_bytes())
    place = home_at(tmp_path)
    fleet = place.fleet()
    bus = fleet.vehicle(VEHICLE)
    request = OpenVisit(
        bus, fleet.name, fleet.time_zone, place.procedure("inspection"),
        place.menu_map(bus.recorder.map_id), "Ada Penhallow",
    )  # fmt: skip
    return open_visit(request, store=place.store(), blobs=place.blobs(), clock=SystemClock()).id


def test_a_signature_on_the_command_line(
    tmp_path: Path, opened: str, capsys: pytest.CaptureFixture[str]
) -> None:
    picture = tmp_path / "hand.png"
    image = Image.new("L", (400, 200), 255)
    ImageDraw.Draw(image).line([(60, 120), (200, 60), (340, 130)], fill=0, width=5)
    image.save(picture)
    visit_sign.sign_command(opened, "Rosa Lint", picture, "operator", home=tmp_path)
    head = home_at(tmp_path).visit(opened).signatures[0].head
    assert head in capsys.readouterr().out
    visit.show_command(opened, home=tmp_path)
    assert "by Rosa Lint (operator)" in capsys.readouterr().out
    target = tmp_path / "out.pdf"
    report.report_command(opened, target, home=tmp_path)
    text = "".join(page.extract_text() for page in pypdf.PdfReader(target).pages)
    assert "Rosa Lint" in text and head in text.replace("\n", "")


def test_a_picture_that_is_not_there_is_said(tmp_path: Path, opened: str) -> None:
    with pytest.raises(NotFound, match="no such file"):
        visit_sign.sign_command(opened, "Rosa", tmp_path / "none.png", home=tmp_path)
    with pytest.raises(UsageError, match="is no file"):
        visit_sign.sign_command(opened, "Rosa", tmp_path, home=tmp_path)
