"""`asfound fleet place` and `fleet changes`, called as a user calls them."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from tests.worked_visit import BY, fleet_home, up_to_slips

from asfound.cli.home import Home
from asfound.cli.main import call
from asfound.errors import ExitCode
from asfound.jobs.visit_journal import Book


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return fleet_home(tmp_path)


def run(capsys: pytest.CaptureFixture[str], home: Home, *words: str) -> tuple[int, str, str]:
    code = call(["fleet", *words, "--home", str(home.path)])
    told = capsys.readouterr()
    return code, told.out, told.err


def test_a_photograph_of_the_place(
    capsys: pytest.CaptureFixture[str], home: Home, tmp_path: Path
) -> None:
    code, out, _ = run(capsys, home, "place", "217")
    assert code == 0 and "no photograph of the place" in out
    photo = tmp_path / "seat.png"
    Image.fromarray(np.full((60, 90, 3), 90, np.uint8)).save(photo)
    code, out, _ = run(capsys, home, "place", "217", str(photo), "--by", "Ines")
    assert code == 0 and "photograph by Ines" in out
    kept = Path(out.strip().rpartition(": ")[2])
    assert kept.read_bytes() == photo.read_bytes()
    for words, wanted, says in (
        (("place", "999"), ExitCode.NOT_FOUND, "no vehicle"),
        (("place", "217", "none.jpg", "--by", "Ines"), ExitCode.NOT_FOUND, "no such file"),
        (("place", "217", str(tmp_path), "--by", "Ines"), ExitCode.STORAGE, str(tmp_path)),
        (("place", "217", __file__, "--by", "Ines"), ExitCode.BAD_PICTURE, "not a picture"),
        (("place", "217", str(photo), "--by", " "), ExitCode.USAGE, "say who did it"),
    ):
        code, _, err = run(capsys, home, *words)
        assert code == wanted and says in err and err.count("\n") == 1, (words, err)


def test_what_changed_when(capsys: pytest.CaptureFixture[str], home: Home) -> None:
    code, out, _ = run(capsys, home, "changes", "217")
    assert code == 0 and "0 closed visits" in out
    visit = up_to_slips(home)
    # Closing has gates of its own, tested elsewhere.
    Book(visit, home.desk()).write(BY, "closed", {"step": "close", "note": ""})
    code, out, _ = run(capsys, home, "changes", "217")
    assert code == 0 and visit in out and "in the visit" in out
    assert "1 closed visit, 1 with settings read as left" in out
    code, out, _ = run(capsys, home, "changes", "217", "--json")
    (item,) = json.loads(out)
    assert (item["visit"], item["read"], item["first"]) == (visit, True, True)
    # One page was not photographed as left, and one value is in doubt.
    assert item["unknown"] > 1 and item["changes"]
