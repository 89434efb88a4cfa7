"""Labels from CSV, on the clock of the log that they belong to."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.errors import AsfoundError, InputError, UsageError
from asfound.jobs.read_labels import LabelForm, Labels, placed, read_labels
from asfound.model.drive_log import Label


def read(text: str, **columns: str) -> Labels:
    return read_labels("events.csv", [text.encode()], LabelForm(columns))


def test_forms() -> None:
    want = (Label(1.0, 2.5, "kerb"), Label(7.0, 9.0, "harsh brake"))
    named = "start,end,kind\n7,9,harsh brake\n1.0,2.5,kerb\n"
    assert read(named).of("any") == want
    assert read(named.partition("\n")[2]).of("") == want
    assert (
        read("what;a;b\nharsh brake;7;9\nkerb;1;2.5\n", start="a", end="b", kind="what").of("")
        == want
    )
    assert read("7,9\n").of("") == (Label(7.0, 9.0, "event"),)
    dated = read("start,end\n2026-11-26T08:00:00+01:00,2026-11-26T08:00:02+01:00\n").of("")
    assert dated[0].start_s == 20783 * 86400 + 7 * 3600 and dated[0].end_s - dated[0].start_s == 2


def test_labels_of_several_logs() -> None:
    labels = read("log,start,end,kind\na.csv,1,2,kerb\nb.csv,3,4,kerb\n,5,6,any\n")
    assert [label.start_s for label in labels.of("a.csv")] == [1, 5]
    assert [label.start_s for label in labels.of("b.csv")] == [3, 5]


def test_broken_lines_are_told() -> None:
    labels = read("start,end,kind\n1,2,kerb\n5,4,turned\nsoon,6,x\n1e12,2e12,x\n")
    assert len(labels.of("")) == 1
    assert [fault.where for fault in labels.faults] == [f"events.csv:{n}" for n in (3, 4, 5)]


def test_on_the_clock_of_a_log() -> None:
    since = (Label(10.0, 12.0, "kerb"),)
    assert placed(since, (1.79e9, 1.79e9 + 60), "x")[0].start_s == 1.79e9 + 10
    # The log's own clock begins at 5000 s, and labels are on it.
    assert placed((Label(5010.0, 5012.0, "kerb"),), (5000.0, 5100.0), "x")[0].start_s == 5010
    late = (Label(1.79e9 + 10, 1.79e9 + 12, "kerb"), Label(1.79e9 + 99, 1.79e9 + 100, "kerb"))
    assert placed(late, (1.79e9, 1.79e9 + 60), "x") == late[:1], "others belong to other logs"
    with pytest.raises(UsageError, match="seconds since its start and its own clock"):
        placed((Label(10.0, 12.0, "kerb"),), (5.0, 100.0), "x")
    assert placed(since, (5.0, 100.0), "x", "clock") == since
    assert placed(since, (5.0, 100.0), "x", "start")[0].start_s == 15.0
    assert placed((), (0.0, 1.0), "x") == ()


@pytest.mark.parametrize(
    ("text", "wrong", "said"),
    [
        ("", InputError, "is empty"),
        ("start,end\nx,y\n", InputError, "no label in it can be used: events.csv:2"),
        ("a,b,c,d\n1,2,3,4\n", UsageError, "which column is start and end"),
    ],
)
def test_what_cannot_be_read(text: str, wrong: type[AsfoundError], said: str) -> None:
    with pytest.raises(wrong, match=said):
        read(text)


@given(st.binary(max_size=300))
def test_any_bytes_end_in_labels_or_one_line(raw: bytes) -> None:
    try:
        labels = read_labels("x", [raw], LabelForm())
    except AsfoundError as error:
        assert "\n" not in str(error)
    else:
        assert labels.by_log
