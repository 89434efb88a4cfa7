"""Two recognisers on one value."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.combine import combine
from asfound.calc.confidence import confidence
from asfound.calc.judge import Judgement, Look, judge
from asfound.calc.parse_value import parse_value
from asfound.calc.weigh import Weighed
from asfound.model.kinds import Choice, FieldType, Host, Secret, Text
from asfound.model.reading import State

RATE = Choice(("5 fps", "15 fps", "25 fps"))
NAME = Text()
CERTAIN = Weighed("15 fps", "15 fps", margin=9.0, least=7.0, gap=0.0, rivals=("25 fps",))


def look(kind: FieldType, text: str, score: float = 0.99) -> Look:
    return Look(text, (score,) * len(text), parse_value(kind, text))


def both(
    kind: FieldType, texts: tuple[str, str], weighed: Weighed, score: float = 0.99
) -> Judgement:
    looks = tuple(look(kind, text, score) for text in texts)
    return combine(kind, looks, judge(kind, looks[0], looks[1]), weighed)


def test_what_both_read_is_sure() -> None:
    assert both(RATE, ("15 fps", "15 fps"), CERTAIN).state is State.SURE


def test_faint_looks_are_borne_out() -> None:
    judged = both(RATE, ("15 fps", "15 fps"), CERTAIN, score=0.3)
    assert (judged.state, judged.value) == (State.SURE, "15 fps")


def test_contrary_recognisers_leave_a_doubt_with_both_values() -> None:
    judged = both(RATE, ("25 fps", "25 fps"), CERTAIN)
    assert judged.state is State.DOUBT
    assert {"15 fps", "25 fps"} <= set(judged.candidates)
    assert "different" in judged.reason


def test_a_picture_of_none_of_the_values_is_not_forced_into_one() -> None:
    # The unruled text is far likelier than any value of the list: something else stands there.
    odd = replace(CERTAIN, gap=20.0)
    assert both(RATE, ("?", "?"), odd).state is not State.SURE


def test_the_second_alone_must_be_certain() -> None:
    assert both(RATE, ("~", "~"), CERTAIN).state is State.SURE
    assert both(RATE, ("~", "~"), replace(CERTAIN, margin=3.0)).state is State.DOUBT


@pytest.mark.parametrize(("margin", "state"), [(0.4, State.DOUBT), (4.0, State.SURE)])
def test_look_alikes_in_free_text(margin: float, state: State) -> None:
    # Common practice, no source: O and 0, l and 1 cannot be told by shape in many fonts.
    seen = Weighed("TR-07B", "TR-07B", margin=margin, least=margin, rivals=("TR-O7B",))
    assert both(NAME, ("TR-07B", "TR-07B"), seen).state is state


def test_free_text_that_goes_on_beyond_its_outline_is_a_doubt() -> None:
    seen = Weighed("15.8", "15.8", margin=3.0, least=-4.0, rivals=("15.8 V",))
    judged = both(NAME, ("15.8", "15.8"), seen)
    assert judged.state is State.DOUBT
    assert "15.8 V" in judged.candidates


def test_a_space_alone_against_several_is_open() -> None:
    seen = Weighed("CAM8", "CAM8", margin=6.0, least=4.0)
    assert both(NAME, ("CAM 8", "CAM 8"), seen).value == "CAM 8"
    assert both(NAME, ("CAM8", "CAM 8"), seen).state is State.DOUBT


def test_a_mask_without_writing_is_asked_about() -> None:
    masked = Judgement(State.SURE, "set", ("set",))
    assert combine(Secret(), (), masked, Weighed(None, empty=0.9)).state is State.DOUBT
    assert combine(Secret(), (), masked, Weighed(None, empty=0.0)).state is State.SURE


def test_a_stroke_that_is_no_writing_is_blank_but_not_under_glare() -> None:
    stroke = Judgement(State.DOUBT, "", ("",), "a lone stroke: a sign, or only a drawing")
    glare = replace(stroke, reason="glare, a mark or the picture's edge hides what may stand here")
    assert combine(NAME, (), stroke, Weighed(None, empty=0.99)).state is State.SURE
    assert combine(NAME, (), stroke, Weighed(None, empty=0.5)).state is State.DOUBT
    assert combine(NAME, (), glare, Weighed(None, empty=0.99)).state is State.DOUBT


@given(
    st.floats(-20, 20), st.floats(0, 20), st.sampled_from(RATE.options),
    st.sampled_from(RATE.options), st.sampled_from(RATE.options),
)  # fmt: skip
def test_sure_only_of_what_the_second_reads(
    margin: float, gap: float, first: str, second: str, weighed: str
) -> None:
    seen = Weighed(weighed, weighed, margin=abs(margin), least=margin, gap=gap)
    judged = both(RATE, (first, second), seen)
    assert judged.state is not State.SURE or judged.value == weighed
    assert judged.value is None or judged.value in judged.candidates


@given(st.floats(0, 8), st.floats(0, 8), st.integers(0, 2))
def test_more_margin_is_never_less_confidence(low: float, high: float, agree: int) -> None:
    low, high = sorted((low, high))
    looks = tuple(look(RATE, "15 fps") for _ in range(agree))
    chances = [
        confidence(RATE, "15 fps", looks, replace(CERTAIN, margin=margin)) for margin in (low, high)
    ]
    assert chances[0] is not None
    assert chances[1] is not None
    assert 0.0 < chances[0] <= chances[1] < 1.0


def test_no_confidence_without_evidence() -> None:
    assert confidence(RATE, "15 fps", (), Weighed(None)) is None


def test_a_code_of_look_alikes_needs_more_than_a_name_does() -> None:
    certain = Weighed("2SO61", "2SO61", margin=6.0, least=5.0, rivals=("25061",))
    assert both(NAME, ("2SO61", "2SO61"), certain).state is State.SURE
    likely = replace(certain, margin=3.8, least=2.5)
    assert both(NAME, ("2SO61", "2SO61"), likely).state is State.SURE
    assert both(NAME, ("2SO61", "2SO61"), likely, score=0.9).state is State.DOUBT
    faint = replace(certain, margin=1.0, least=0.6)
    assert both(NAME, ("2SO61", "2SO61"), faint).state is State.DOUBT
    depot = Weighed("Depot", "Depot", margin=3.0, least=2.5)
    assert both(NAME, ("Depot", "Depot"), depot).state is State.SURE


@pytest.mark.parametrize("other", ["camO", "Cam0", "caml"])
def test_a_look_that_reads_a_look_alike_is_not_outvoted(other: str) -> None:
    weighed = Weighed("cam0", "cam0", margin=5.0, least=4.0)
    looks = (look(NAME, "cam0", 0.7), look(NAME, other, 0.5))
    judged = combine(NAME, looks, judge(NAME, looks[0], looks[1]), weighed)
    assert judged.state is (State.SURE if other == "caml" else State.DOUBT)


def test_a_strong_contrary_look_at_free_text_is_not_outvoted() -> None:
    weighed = Weighed("Warkshop", "Warkshop", margin=5.0, least=4.0)
    looks = (look(NAME, "Warkshop", 0.7), look(NAME, "Workshop", 0.8))
    judged = combine(NAME, looks, judge(NAME, looks[0], looks[1]), weighed)
    assert judged.state is State.DOUBT


def test_a_look_that_overlooked_a_sign_is_outvoted() -> None:
    weighed = Weighed("15.0 V", "15.0 V", margin=5.0, least=4.0)
    looks = tuple(look(NAME, text, 0.9) for text in ("15.0 V", "15.0", "15.0 V"))
    before = judge(NAME, looks[0], looks[1])
    assert before.state is State.DOUBT
    judged = combine(NAME, looks[:2], before, weighed)
    assert (judged.state, judged.value) == (State.SURE, "15.0 V")
    longer = tuple(look(NAME, text, 0.9) for text in ("15.0", "15.0 V"))
    short = Weighed("15.0", "15.0", margin=5.0, least=4.0)
    assert combine(NAME, longer, judge(NAME, *longer), short).state is State.DOUBT


@pytest.mark.parametrize(
    ("kind", "text", "margin", "state"),
    [
        (NAME, "805", 2.1, State.DOUBT),  # 8O5 is as likely, however strong the looks
        (NAME, "805", 5.0, State.SURE),
        (NAME, "688", 2.1, State.SURE),  # no twin of the same shape
        (NAME, "907", 2.1, State.SURE),  # 9 and 7 are figures alone: so is what is between
        (Host(), "nodel-rec.example.com", 2.0, State.DOUBT),  # node1 is as likely
        (Host(), "nodel-rec.example.com", 4.0, State.SURE),
        (Host(), "portals.example.com", 2.0, State.SURE),
        (NAME, "Panel", 2.0, State.SURE),
        (NAME, "SIGS", 3.1, State.DOUBT),  # SlGS
        (NAME, "SIGS", 4.5, State.SURE),
        (NAME, "LOSS", 2.0, State.SURE),
    ],
)
def test_a_twin_in_free_text_needs_more_than_strong_looks(
    kind: FieldType, text: str, margin: float, state: State
) -> None:
    """Common practice, no source: O and 0, l and 1 are drawn alike in many menu fonts."""
    weighed = Weighed(text, text, margin=margin, least=margin - 0.4, gap=0.0)
    assert both(kind, (text, text), weighed).state is state


def test_a_lone_twin_that_the_looks_read_faintly_needs_more_still() -> None:
    text = "rec.cam0.example"
    weighed = Weighed(text, text, margin=4.5, least=2.9, gap=0.0)
    assert both(Host(), (text, text), weighed, score=0.86).state is State.DOUBT
    assert both(Host(), (text, text), replace(weighed, margin=6.0), score=0.86).state is State.SURE
    assert both(Host(), (text, text), weighed, score=0.99).state is State.SURE


@pytest.mark.parametrize(
    ("texts", "value", "state"),
    [
        (("Stairs", "stairs", "Stairs"), "Stairs", State.SURE),
        (("Stairs", "stairs"), "Stairs", State.DOUBT),  # one against one
        (("cam0", "camO", "cam0"), "cam0", State.DOUBT),  # nothing around it tells
        (("626", "6Z6", "626"), "626", State.DOUBT),
        (("Stairs", "Chairs", "Stairs"), "Stairs", State.DOUBT),  # another text
    ],
)
def test_one_look_of_three_is_outvoted_where_the_word_tells(
    texts: tuple[str, ...], value: str, state: State
) -> None:
    looks = tuple(look(NAME, text, 0.9) for text in texts)
    before = Judgement(State.DOUBT, value, (value,), "two looks read different values")
    weighed = Weighed(value, value, margin=7.0, least=5.0, gap=0.0)
    assert combine(NAME, looks, before, weighed).state is state
    unclear = replace(weighed, margin=6.0)
    assert combine(NAME, looks, before, unclear).state is State.DOUBT
