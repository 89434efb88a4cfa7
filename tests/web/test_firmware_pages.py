"""Firmware and rollouts on pages: what is shown, what cannot be told, in which words.

The catalogue is the demonstration's; what is right follows from its rules as written there.
"""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest
from tests.web.kit import Browser, send, token
from tests.web.stick_kit import firmware_home, with_sticks
from tests.worked_visit import fleet_home, up_to_keys

from asfound.cli.home import Home
from asfound.cli.serve_parts import services
from asfound.demo.firmware import lay_firmware


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    return firmware_home(tmp_path_factory.mktemp("home"))


@pytest.fixture(scope="module")
def browser(home: Home) -> Browser:
    return Browser(with_sticks(home)[0])


def text(browser: Browser, path: str, language: str = "en", status: int = 200) -> str:
    answer = browser.get(path, headers={"Accept-Language": language})
    assert answer.status_code == status, answer.text
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", answer.text)).split())


def test_the_catalogue_by_model(browser: Browser) -> None:
    page = text(browser, "/firmware")
    # 2.10 after 2.03 after 2.02: the order of the maker, not that of the names.
    assert page.index("2.10") < page.index("2.03") < page.index("2.02") < page.index("1.12")
    for said in (
        "Marrowby Four", "Quillfen Octad", "not approved for this fleet",
        "loses the clock when the battery is flat", "the first start takes 4 minutes",
        "for Brindlemere Haulage & Coaches by Rosa Lint on 2026-02-03", "Goes only over",
    ):  # fmt: skip
        assert said in page, said
    told = browser.get("/api/v1/firmware").json()
    assert [x["version"] for x in told["images"] if x["map"] == "marrowby-four"][:2] == [
        "2.10", "2.03",
    ]  # fmt: skip
    assert {x["version"] for x in told["images"] if x["withdrawn_on"]} == {"2.02"}
    assert all(x["here"] for x in told["images"])


def test_a_vehicles_way_over_its_stepping_stone(browser: Browser) -> None:
    page = text(browser, "/firmware/choose?vehicle=217")
    assert "Put on 2.03" in page and "1.12 → 2.01" in page and "2.01 → 2.03" in page
    assert "the highest file name, m4-c-2-03.mfw (2.03), would be wrong" in page
    assert "known trouble of 2.01" in page and "not approved for Brindlemere" in page
    told = browser.get("/api/v1/vehicles/217/firmware").json()
    assert [step["version"] for step in told["steps"]] == ["2.01", "2.03"]
    assert (told["answer"], told["installed"], told["visit"]) == ("put-on", "1.12", "")
    older = browser.get("/api/v1/vehicles/217/firmware?to=2.10").json()
    assert older["answer"] == "nothing-fits"
    assert "Nothing fits: put nothing on" in text(browser, "/firmware/choose?vehicle=217&to=2.10")


def test_what_cannot_be_told_is_no_answer(browser: Browser) -> None:
    page = text(browser, "/firmware/choose?vehicle=41")
    assert "Cannot tell" in page and "MF-19003 is not known" in page and "Put on" not in page
    assert browser.get("/api/v1/vehicles/41/firmware").json()["answer"] == "could-not-tell"
    # Read off the label, it can be.
    assert "Put on 2.03" in text(browser, "/firmware/choose?vehicle=41&hardware=B")
    # What the catalogue knows is not typed away.
    other = text(browser, "/firmware/choose?vehicle=217&hardware=C")
    assert "is said to be hardware C and hardware B" in other and "Cannot tell" in other
    odd = text(browser, "/firmware/choose?vehicle=217&installed=spring")
    assert "Cannot tell" in odd
    assert "no vehicle" in text(browser, "/firmware/choose?vehicle=999", status=404)
    shown = text(browser, "/vehicles/41")
    assert "cannot tell" in shown and "wave 1" in shown


def test_what_a_version_changes(browser: Browser) -> None:
    page = text(browser, "/firmware/changes?vehicle=217&to=2.03")
    assert "1.12 → 2.03" in page and "has to be keyed in now" in page and "renamed" in page
    whole = text(browser, "/firmware/changes?map=marrowby-four&from=1.12&to=2.03")
    assert "class town bus" in whole
    assert "does not describe" in text(browser, "/firmware/changes?vehicle=217&to=9.9", status=404)
    told = browser.get("/api/v1/vehicles/217/firmware/changes?new=2.03").json()
    assert told["old"] == "1.12" and {x["who"] for x in told["agreed"]} == {"vehicle 217"}


def test_a_rollout_before_anybody_has_it(browser: Browser) -> None:
    page = text(browser, "/rollout/marrowby-2.03")
    assert "Decision: go on" in page and "Without a failure" in page
    # ln(0.10 / 0.95) = -2.25 and ln(0.90 / 0.05) = 2.89 (Wald 1947, as docs/rollout.md writes it).
    assert "go on from -2.25 down, stop from 2.89 up" in page
    assert "The fleet has 2: it never will" in page
    told = browser.get("/api/v1/rollouts/marrowby-2.03").json()
    assert told["next"] == ["217"] and told["rule"]["pilot_needed"] == 12
    assert {x["number"]: x["wave"] for x in told["vehicles"]} == {"217": 0, "41": 1}
    assert "its turn now" in text(browser, "/firmware/choose?vehicle=217")
    assert browser.get("/api/v1/rollouts/..%2Ffleet").status_code == 404


def test_a_rollout_with_the_pilot_on_its_way(tmp_path: Path) -> None:
    home = fleet_home(tmp_path)
    visit = up_to_keys(home)
    lay_firmware(tmp_path)
    browser = Browser(with_sticks(home)[0])
    page = text(browser, "/rollout/marrowby-2.03")
    assert "Decision: wait" in page and "1 of 1 are open or in their hold time" in page
    assert "the fleet file still says 1.12" in page
    assert "Nothing to do: 2.03 is the right one" in text(browser, "/firmware/choose?vehicle=217")
    shown = text(browser, "/vehicles/217")
    assert "is the right one" in shown and "pilot" in shown
    assert "Choose firmware" in text(browser, f"/visits/{visit}")
    (line,) = browser.get("/api/v1/rollouts").json()
    assert (line["decision"], line["error"]) == ("hold", "")


def test_a_rollout_for_some_hardware_names_those_it_cannot_tell(tmp_path: Path) -> None:
    home = firmware_home(tmp_path)
    path = tmp_path / "rollouts" / "marrowby-2.03.toml"
    path.write_text(path.read_text().replace("target =", 'hardware = ["B"]\ntarget ='))
    browser = Browser(with_sticks(home)[0])
    page = text(browser, "/rollout/marrowby-2.03")
    assert "Hardware not known" in page and "Only for hardware B" in page
    told = browser.get("/api/v1/rollouts/marrowby-2.03").json()
    assert [x["number"] for x in told["vehicles"]] == ["217"] and told["unsure"] == ["41"]
    assert "Cannot tell" in text(browser, "/firmware/choose?vehicle=41")


def test_faulty_files_say_what_is_wrong_and_the_vehicle_is_still_shown(tmp_path: Path) -> None:
    home = firmware_home(tmp_path)
    (tmp_path / "rollouts" / "bad.toml").write_text('format = "asfound-rollout/1"\n')
    browser = Browser(with_sticks(home)[0])
    page = text(browser, "/rollout")
    assert "bad.toml" in page and "Marrowby 2.03" in page
    (tmp_path / "firmware.toml").write_text('format = "asfound-firmware/1"\n[[image]]\n')
    assert "firmware.toml" in text(browser, "/rollout"), "what is in it cannot be told"
    assert "firmware.toml" in text(browser, "/firmware", status=422)
    assert "cannot tell" in text(browser, "/vehicles/217")
    assert "firmware.toml" in text(browser, "/firmware/choose?vehicle=217")


def test_a_home_without_any_of_it_says_what_to_do(tmp_path: Path) -> None:
    browser = Browser(services(fleet_home(tmp_path)))
    assert "asfound firmware import" in browser.get("/firmware").text
    assert "No rollout is under way" in text(browser, "/rollout")
    assert "asfound serve --stick" in browser.get("/stick").text
    assert "There is no firmware catalogue" in text(browser, "/firmware/choose?vehicle=217")
    assert browser.get("/api/v1/firmware").status_code == 404
    way = browser.get("/api/v1/vehicles/217/firmware").json()
    assert way["answer"] == "could-not-tell" and "no firmware catalogue" in way["doubt"]


def test_the_same_in_german(browser: Browser) -> None:
    page = text(browser, "/firmware/choose?vehicle=41&hardware=B", "de")
    for said in ("2.03 aufspielen", "für Hardware B", "die neueste, die erlaubt und erreichbar ist",
                 "der höchste Dateiname, m4-c-2-03.mfw (2.03), wäre falsch"):  # fmt: skip
        assert said in page, said
    page = text(browser, "/rollout/marrowby-2.03", "de")
    assert "Entscheidung:" in page and "Halteregel" in page and "failed" not in page
    page = text(browser, "/firmware/changes?vehicle=217&from=1.12&to=2.03", "de")
    assert "muss jetzt eingegeben werden" in page and "in Zeile" in page


def test_a_choice_is_recorded_in_the_visit(tmp_path: Path) -> None:
    home = firmware_home(tmp_path)
    browser = Browser(with_sticks(home)[0])
    opened = {"procedure": "firmware-and-reset", "by": "Ines", "firmware": "1.12"}
    visit = send(browser, "/vehicles/217/open", opened).rpartition("/")[2]
    head = home.visit(visit).head
    send(browser, f"/visits/{visit}/firmware", {"head": head, "by": "Ines"})
    choice = home.visit(visit).choice
    assert choice is not None and (choice.installed, choice.to) == ("1.12", "2.03")
    assert [step.version for step in choice.path] == ["2.01", "2.03"]
    assert "1.12 → 2.03" in text(browser, f"/visits/{visit}")
    # Against the head that was seen, as every act.
    data = {"csrf": token(browser), "head": head, "by": "Ines"}
    assert browser.post(f"/visits/{visit}/firmware", data=data).status_code == 409
    data = {"csrf": token(browser), "head": home.visit(visit).head, "by": "Ines", "hardware": "C"}
    refused = browser.post(f"/visits/{visit}/firmware", data=data)
    assert refused.status_code == 422 and "look at its label" in refused.text
