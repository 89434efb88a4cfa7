"""A whole visit on the command line with ASFOUND_STORE on a server, which dies in between; and
two laptops that write to one visit at once."""

from __future__ import annotations

import json
import subprocess
import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.cli.test_visit import FLEET, TINBROOK
from tests.postgres_server import PASSWORD, Postgres
from tests.visit_kit import MAP, VALUES, proof, reading

from asfound.cli.home import Home, home_at
from asfound.cli.main import call
from asfound.errors import ExitCode
from asfound.jobs.visit_record import RecordProof, RecordReading, record_as_found, record_proof
from asfound.model.finding import ProofVerdict

ROOT = Path(__file__).parents[2]


@pytest.fixture
def mortal(postgres: Postgres) -> Iterator[Postgres]:
    """The server, alive again afterwards."""
    yield postgres
    if not postgres.is_running():
        postgres.start()


@pytest.fixture
def home(tmp_path: Path, mortal: Postgres, monkeypatch: pytest.MonkeyPatch) -> Home:
    """A laptop whose journal is on the server, in a database of a user with a password."""
    (tmp_path / "maps").mkdir()
    (tmp_path / "maps" / "tinbrook-two.toml").write_text(TINBROOK, encoding="utf-8")
    (tmp_path / "fleet.toml").write_text(FLEET, encoding="utf-8")
    name, user = mortal.database(), mortal.user()
    mortal.sql(f"ALTER DATABASE {name} OWNER TO {user}")
    monkeypatch.setenv("ASFOUND_HOME", str(tmp_path))
    monkeypatch.setenv("ASFOUND_STORE", mortal.url(name, user, PASSWORD))
    monkeypatch.delenv("ASFOUND_BY", raising=False)
    return home_at(tmp_path)


def test_a_visit_from_opening_to_closing_on_a_server_that_dies_once(
    home: Home, mortal: Postgres, capfd: pytest.CaptureFixture[str]
) -> None:
    def say(*arguments: str) -> tuple[int, str]:
        code = call([*arguments])
        said = capfd.readouterr()
        assert said.err.count("\n") <= 1 and PASSWORD not in said.err + said.out
        return code, said.out + said.err

    by = ("--by", "ada")
    code, out = say("visit", "open", "217", "--procedure", "inspection", *by)
    assert code == 0
    visit = out.split()[1]
    assert say("visit", "done", visit, "locate", "power", "monitor", *by)[0] == 0
    desk = home.desk()
    made = reading(VALUES | {"camera-2.size": "CIF"}, desk, doubts={})
    record_as_found(RecordReading(visit, MAP, made, "ada"), desk=desk)
    place = ("hold", "place", "217", "--from", "2026-11-24T07:30", "--to", "2026-11-24T09:00")
    assert say(*place, "--reason", "claim 12", "--by", "office")[0] == 0
    assert "claim 12" in say("visit", "show", visit)[1]
    before = say("visit", "show", visit, "--json")[1]

    mortal.stop("immediate")
    code, out = say("visit", "note", visit, "seal 4711", *by)
    assert code == ExitCode.STORAGE and "no server answers there" in out
    mortal.start()
    assert say("visit", "show", visit, "--json")[1] == before

    assert say("visit", "note", visit, "seal 4711", *by)[0] == 0
    assert say("visit", "compare", visit)[0] == ExitCode.FINDINGS
    assert say("visit", "done", visit, "compare", *by, "--note", "told the depot")[0] == 0
    override = ("visit", "override", visit, "close", "as-left-compared", *by)
    assert say(*override, "--reason", "the depot wants it off")[0] == 0
    # The desk from before the server died works on.
    record_proof(RecordProof(visit, proof(ProofVerdict.RECORDS, desk), "ada"), desk=desk)
    assert say("visit", "close", visit, *by)[0] == 0
    code, out = say("visit", "check", visit)
    assert code == 0 and "entries chained" in out
    assert json.loads(say("visit", "list", "--json")[1])[0]["closed"] is True
    held = json.loads(say("hold", "list", "--json")[1])[0]["id"]
    assert say("hold", "release", held, "--by", "office", "--reason", "copied")[0] == 0
    assert not (home.path / "asfound.db").exists()


LAPTOP = textwrap.dedent(
    """
    import sys
    from asfound.cli.main import call

    visit, name = sys.argv[1:]
    kept = 0
    while kept < 3:
        code = call(["visit", "note", visit, f"{name} {kept}", "--by", name])
        assert code in (0, 9), code
        kept += code == 0
    """
)
"""Notes three things; whoever is told to reload does it again."""


def test_two_laptops_write_to_one_visit_at_once(
    home: Home, capfd: pytest.CaptureFixture[str]
) -> None:
    assert call(["visit", "open", "217", "--procedure", "inspection", "--by", "ada"]) == 0
    visit = capfd.readouterr().out.split()[1]
    laptops = [
        subprocess.Popen(
            [sys.executable, "-c", LAPTOP, visit, name],
            cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )
        for name in ("ada", "bo")
    ]  # fmt: skip
    for laptop in laptops:
        told = laptop.communicate()[1].splitlines()
        assert laptop.returncode == 0, told
        assert all("someone else wrote" in line and "reload" in line for line in told), told
    notes = [e.data["note"] for e in home.store().entries(visit) if e.kind == "noted"]
    assert sorted(notes) == sorted(f"{name} {n}" for name in ("ada", "bo") for n in range(3))
    assert call(["visit", "check", visit]) == 0
