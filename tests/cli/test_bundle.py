"""`asfound bundle`: the whole way on the command line, between two homes."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from tests.bundle_kit import Laptop, small_visit
from tests.postgres_server import Postgres
from tests.visit_kit import SetClock

from asfound.cli.home import home_at
from asfound.cli.main import call
from asfound.demo import scenario
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.store_sql import SqlStore


def home(folder: Path) -> Path:
    folder.mkdir()
    shutil.copy(scenario.FLEET_FILE, folder / "fleet.toml")
    return folder


def visit_in(folder: Path) -> str:
    store = SqlStore(f"sqlite:///{folder / 'asfound.db'}")
    made = small_visit(Laptop(store, FileBlobs(folder / "blobs"), SetClock()))
    store.close()
    return made


def test_out_of_one_home_and_into_another(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("ASFOUND_STORE", raising=False)
    here, there, bag = home(tmp_path / "here"), home(tmp_path / "there"), tmp_path / "bag"
    visit = visit_in(here)
    assert call(["bundle", "key", "--home", str(here)]) == 0
    key = capsys.readouterr().out.strip()
    assert call(["bundle", "export", visit, "--to", str(bag), "--home", str(here)]) == 0
    assert f"signed with key {key}" in capsys.readouterr().out
    assert call(["verify", str(bag), "--key", key]) == 0
    capsys.readouterr()

    take = ["bundle", "import", str(bag), "--home", str(there)]
    assert call(take) == 2
    told = capsys.readouterr().err
    assert "which nobody here said to believe" in told and told.count("\n") == 1
    (there / "trusted-keys").write_text(f"# the workshop\n{key} Ada's laptop\n")
    assert call(take) == 0
    assert f"visit {visit} is here" in capsys.readouterr().out
    assert call(take) == 0
    assert "nothing new" in capsys.readouterr().out
    assert call(["visit", "check", visit, "--home", str(there)]) == 0
    assert call(["bundle", "aside", "--home", str(there)]) == 0
    capsys.readouterr()

    (bag / "data" / "more").write_bytes(b"x")
    assert call(take) == 9
    assert str(bag) in capsys.readouterr().err


def test_of_several_bags_the_sound_ones_are_taken_in(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    here, there = home(tmp_path / "here"), home(tmp_path / "there")
    visit = visit_in(here)
    bags = [tmp_path / name for name in ("bad", "good")]
    for bag in bags:
        assert call(["bundle", "export", visit, "--to", str(bag), "--home", str(here)]) == 0
    assert capsys.readouterr().err.count("had no key when its ids were made") == 1
    (bags[0] / "bagit.txt").unlink()
    key = home_at(here).keys().own().public.hex()
    names = [str(bags[0]), str(tmp_path / "none"), str(bags[1])]
    capsys.readouterr()
    assert call(["bundle", "import", *names, "--key", key, "--home", str(there)]) == 9
    told = capsys.readouterr()
    assert "none: there is no such folder" in told.err
    assert "2 of 3 bags were refused" in told.err and f"visit {visit} is here" in told.out


def test_ids_bear_the_tag_of_a_home_that_has_a_key(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    here = home(tmp_path / "here")
    assert home_at(here).writer() == ""
    place = home_at(here)
    place.keys().own()
    tag = place.writer()
    assert len(tag) == 3 and place.desk().writer == tag
    span = ["--from", "2026-03-09T08:00Z", "--to", "2026-03-09T09:00Z"]
    done = call(
        ["hold", "place", scenario.VEHICLE, *span, "--reason", "claim", "--by", "ada", "--home",
         str(here)]
    )  # fmt: skip
    assert done == 0 and [hold.id[-4:] for hold in place.store().holds()] == [f"-{tag}"]


@pytest.mark.parametrize(
    ("text", "told"),
    [("abc\n", "line 1"), ("# x\n\n" + "g" * 64, "line 3"), ("A" * 64, "small letters")],
)
def test_a_list_of_keys_that_is_none_is_told_by_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, told: str
) -> None:
    here = home(tmp_path / "here")
    (here / "trusted-keys").write_text(text)
    assert call(["bundle", "import", str(tmp_path), "--home", str(here)]) == 11
    assert told in capsys.readouterr().err
    assert call(["bundle", "import", str(tmp_path), "--key", "x", "--home", str(here)]) == 2


def test_a_folder_is_no_list_of_keys(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    here = home(tmp_path / "here")
    asked = ["bundle", "import", str(tmp_path), "--home", str(here)]
    assert call([*asked, "--keys", str(here)]) == 11
    told = capsys.readouterr().err
    assert "is a folder; name the file with the keys" in told and told.count("\n") == 1
    assert call([*asked, "--keys", str(tmp_path / "none")]) != 0
    assert "there is no such file" in capsys.readouterr().err


def test_what_is_set_aside_is_shown_and_a_finding(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    here, there, bag = home(tmp_path / "here"), home(tmp_path / "there"), tmp_path / "bag"
    visit = visit_in(here)
    assert call(["visit", "sign", visit, "--by", "bo", "--home", str(here)]) == 0
    assert visit_in(there) == visit  # no tags: the same id, another journal
    assert call(["visit", "sign", visit, "--by", "cy", "--home", str(there)]) == 0
    assert call(["bundle", "export", visit, "--to", str(bag), "--home", str(here)]) == 0
    key = home_at(here).keys().own().public.hex()
    assert call(["bundle", "import", str(bag), "--key", key, "--home", str(there)]) == 1
    assert "was continued in two places: 1 entry set aside" in capsys.readouterr().out
    assert call(["visit", "check", visit, "--home", str(there)]) == 1
    capsys.readouterr()
    assert call(["bundle", "aside", visit, "--json", "--home", str(there)]) == 1
    assert [one["kind"] for one in json.loads(capsys.readouterr().out)] == ["signed"]


def test_notes_and_a_visit_go_into_an_office_on_a_server(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    postgres: Postgres,
) -> None:
    monkeypatch.delenv("ASFOUND_STORE", raising=False)
    here, office = home(tmp_path / "here"), home(tmp_path / "office")
    visit, bags = visit_in(here), [tmp_path / "notes", tmp_path / "visit"]
    drive = ["S-1", "--kind", "ssd", "--size", "480GB", "--by", "ada", "--home", str(here)]
    assert call(["drive", "register", *drive]) == 0
    assert call(["bundle", "export", "--notes", "--to", str(bags[0]), "--home", str(here)]) == 0
    assert call(["bundle", "export", visit, "--to", str(bags[1]), "--home", str(here)]) == 0
    key = home_at(here).keys().own().public.hex()
    monkeypatch.setenv("ASFOUND_STORE", postgres.url(postgres.database()))
    take = ["bundle", "import", *map(str, bags), "--key", key, "--home", str(office)]
    capsys.readouterr()
    assert call(take) == 0
    told = capsys.readouterr().out
    assert "drive s-1 has news" in told and f"visit {visit} is here" in told
    assert call(take) == 0
    assert capsys.readouterr().out.count("nothing new") == 2
    assert call(["visit", "check", visit, "--home", str(office)]) == 0
    assert call(["drive", "show", "S-1", "--home", str(office)]) == 0
