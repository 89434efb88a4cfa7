"""Fault guides as data: the shipped one is sound, faulty ones are told by line."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.errors import InputError, NotFound
from asfound.model.fault_guide import NO, OTHER, YES
from asfound.ports.backends.cautions_toml import load_cautions
from asfound.ports.backends.faults_toml import SHIPPED, load_faults

GOOD = """\
format = "asfound-faults/1"
id = "own"
title = "Own"
source = "invented"
visits = 10
trials = 5
[something-else]
share = 1
minutes = 60
repair = "Ask."
[[place]]
id = "van"
title = "In the van"
minutes = 2
[[tool]]
id = "meter"
title = "Meter"
minutes = 1
[[cause]]
id = "fuse"
title = "Fuse"
share = 3
minutes = 5
repair = "Exchange it."
cautions = ["battery"]
[[cause]]
id = "lead"
title = "Lead"
share = 4
minutes = 20
repair = "Mend it."
[[symptom]]
id = "dark"
title = "Dark"
how = "Look."
minutes = 1
usual = 0.1
[symptom.given]
fuse = 0.9
[[check]]
id = "look"
title = "Look at the fuse"
how = "Take it out."
minutes = 3
place = "van"
tools = ["meter"]
outcomes = [{ id = "whole", title = "whole" }, { id = "blown", title = "blown" }]
usual = [0.9, 0.1]
[check.given]
fuse = [0.05, 0.95]
lead = [0.8, 0.2]
"""


def write(folder: Path, text: str) -> Path:
    path = folder / "faults.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_file_becomes_a_guide(tmp_path: Path) -> None:
    made = load_faults(write(tmp_path, GOOD), {"battery"})
    assert [cause.id for cause in made.causes] == ["fuse", "lead", OTHER]
    assert [cause.share for cause in made.causes] == pytest.approx([3 / 8, 4 / 8, 1 / 8])
    dark, look = made.question("dark"), made.question("look")
    assert [item.id for item in dark.outcomes] == [YES, NO] and dark.is_symptom
    assert dark.row("fuse") == pytest.approx((0.9, 0.1))
    assert dark.row("lead") == pytest.approx((0.1, 0.9))
    assert look.row("lead") == pytest.approx((0.8, 0.2)) and not look.is_symptom
    assert made.minutes_for(look, "", ()) == 6 and made.minutes_for(look, "van", ("meter",)) == 3
    with pytest.raises(NotFound, match="no cause 'dragon'"):
        made.cause("dragon")
    with pytest.raises(NotFound, match="it has whole, blown, could-not-tell"):
        look.index("melted")


def test_the_shipped_guide_is_sound_and_says_what_its_figures_are() -> None:
    made = load_faults(SHIPPED, load_cautions())
    assert len(made.causes) > 25 and len(made.checks) > 30 and len(made.symptoms) > 15
    assert "invented" in made.source and "common practice, no source" in made.source
    sources = [cause.source for cause in made.causes]
    assert all("invented" in text for text in sources + [one.source for one in made.questions])
    # Whoever reads them stands on a ladder: short, and a sentence.
    for cause in made.causes:
        assert len(cause.title) < 36 and cause.repair.endswith(".")
    for question in made.questions:
        assert len(question.title) < 90 and question.how.endswith(".")


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ('id = "lead"', 'id = "fuse"', 27, "'fuse' stands twice"),
        ('id = "lead"', f'id = "{OTHER}"', 27, "is always there"),
        ('id = "look"', 'id = "dark"', 41, "'dark' stands twice"),
        ('["battery"]', '["dragons"]', 25, "no caution 'dragons'; known are battery"),
        ('tools = ["meter"]', 'tools = ["saw"]', 46, "no tool 'saw'; known are meter"),
        ('place = "van"', 'place = "moon"', 45, "no place 'moon'"),
        ("fuse = 0.9\n", "fuze = 0.9\n", 39, "no cause 'fuze'"),
        ("usual = [0.9, 0.1]", "usual = [0.9, 0.2]", 48, "add up to 1.1, not to 1"),
        ("usual = [0.9, 0.1]", "usual = [0.9, 0.05, 0.05]", 48, "3 chances for 2 outcomes"),
        ("fuse = [0.05, 0.95]", "fuse = [0, 1]", 50, "0.001"),
        ("usual = 0.1", "usual = 1.0", 37, "0.999"),
        ('id = "blown"', 'id = "whole"', 47, "stands twice"),
        ('"whole", title = "whole" }, { id = "blown"', '"yes", title = "y" }, { id = "no"', 47,
         "yes and no are a symptom's"),
        ('id = "blown"', 'id = "could-not-tell"', 47, "is always there"),
        ("lead = [0.8, 0.2]\n", "", 27, "no symptom and no check names 'lead'"),
        ("minutes = 20", "minutes = 0", 30, "greater than 0"),
        ("visits = 10", "visits = 0", 5, "greater than or equal to 1"),
        ("share = 3", 'share = "much"', 22, "must be a number"),
        ('how = "Look."', 'hew = "Look."', 35, "not known here; did you mean 'how'?"),
        ("[something-else]", "[something]", 7, "not known here"),
        ("minutes = 20", "minutes = inf", 30, "10000"),
        ("minutes = 20", "minutes = nan", 30, "correct it"),
    ],
)  # fmt: skip
def test_each_fault_is_one_line(tmp_path: Path, old: str, new: str, line: int, says: str) -> None:
    assert old in GOOD
    path = write(tmp_path, GOOD.replace(old, new, 1))
    with pytest.raises(InputError) as told:
        load_faults(path, {"battery"})
    lines = [one for one in str(told.value).splitlines() if f"{path}:{line}: " in one]
    assert any(says in one for one in lines), str(told.value)


def test_several_faults_are_told_together(tmp_path: Path) -> None:
    text = GOOD.replace('place = "van"', 'place = "moon"').replace('["battery"]', '["dragons"]')
    with pytest.raises(InputError) as told:
        load_faults(write(tmp_path, text), {"battery"})
    assert str(told.value).splitlines()[0].endswith("2 faults")


@settings(max_examples=60)
@given(st.integers(0, len(GOOD) - 1), st.sampled_from(['"', "[", "=", "é", "\x00", "9" * 40, ""]))
def test_a_damaged_file_is_a_guide_or_one_error(
    tmp_path_factory: pytest.TempPathFactory, at: int, put: str
) -> None:
    path = write(tmp_path_factory.mktemp("guide"), GOOD[:at] + put + GOOD[at + 1 :])
    try:
        assert load_faults(path, {"battery"}).causes
    except InputError as error:
        assert re.match(rf"{re.escape(str(path))}:", str(error))
