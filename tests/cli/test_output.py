"""What reaches the terminal: no escape sequence from outside, nothing it cannot encode."""

from __future__ import annotations

import errno
import io
import json
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.text import Text

from asfound.cli import output
from asfound.errors import StorageError

HOSTILE = "Bus\x1b]0;pwn\x07 \u009b31m \udcff \u202etxt [bold]B[/bold]"


def test_hostile_text_is_shown_and_not_obeyed(capsys: pytest.CaptureFixture[str]) -> None:
    output.say(HOSTILE)
    output.warn(HOSTILE)
    output.table((HOSTILE,), [(HOSTILE,), (Text(HOSTILE, style="red"),)], title=HOSTILE)
    shown = capsys.readouterr()
    for text in (shown.out, shown.err):
        # ECMA-48: terminals act on C0 and C1 control characters; a new line is all we need.
        assert not [char for char in text if char != "\n" and not char.isprintable()]
        assert "[bold]B[/bold]" in text


def test_json_stays_json_and_carries_the_text_unaltered(
    capsys: pytest.CaptureFixture[str],
) -> None:
    output.json_out({"name": HOSTILE, "place": "Łódź"})
    text = capsys.readouterr().out
    assert json.loads(text) == {"name": HOSTILE, "place": "Łódź"}
    text.encode("utf-8")


def test_a_terminal_without_unicode_gets_signs_it_has(monkeypatch: pytest.MonkeyPatch) -> None:
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="ascii"))
    output.say("→ 1 × Łódź")
    output.table(("a",), [("✓ ä",)])
    output.json_out({"ä": "→"})
    sys.stdout.flush()
    text = raw.getvalue().decode("ascii")
    assert text.startswith("-> 1 x \\u0141\\xf3d\\u017a\n")
    assert "+ \\xe4" in text


class _Gone(io.StringIO):
    """A pipe that nobody reads any more: POSIX write(2) fails with EPIPE."""

    def write(self, text: str) -> int:
        raise BrokenPipeError(errno.EPIPE, "Broken pipe")


def test_a_reader_that_has_gone_is_no_finding(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdout", _Gone())
    for act in (output.say, output.json_out, output.raw):
        with pytest.raises(BrokenPipeError) as caught:
            act("line")
        # With its number set, typer ends with 1, which says "findings".
        assert caught.value.errno is None


def test_no_standard_output_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdout", None)
    with pytest.raises(StorageError, match="standard output is closed"):
        output.say("x")
    with pytest.raises(StorageError, match="standard output is closed"):
        output.json_out({})


WORD = st.text(st.sampled_from("abc日é"), max_size=9)
CELL = st.lists(WORD, max_size=4).map(" ".join)


@given(st.data(), st.integers(1, 90))
def test_no_word_of_a_table_is_cut_where_columns_are_given(data: st.DataObject, width: int) -> None:
    row = st.lists(CELL.map(Text), min_size=3, max_size=3)
    rows = data.draw(st.lists(row, min_size=1, max_size=4))
    got = output.column_widths(rows, width)
    whole = [max(cell.cell_len for cell in column) for column in zip(*rows, strict=True)]
    if got is None:
        longest = [
            max((cell_len(word) for row in rows for word in row[at].plain.split()), default=0)
            for at in range(3)
        ]
        assert sum(longest) + 2 * output.GAP > width
    elif sum(whole) + 2 * output.GAP <= width:
        assert got == [0, 0, 0]
    else:
        assert sum(got) + 2 * output.GAP == width
        words = [(word, at) for row in rows for at in range(3) for word in row[at].plain.split()]
        assert all(cell_len(word) <= got[at] for word, at in words)


FLEET = [
    ("217", "QB04 XKM", "bus", "Saltmarsh Lane", "marrowby-four", ""),
    ("305", "QB11 RTF", "lorry", "Cinder Wharf", "quillfen-octad", "held"),
]
NAMES = ("number", "plate", "kind", "depot", "recorder", "footage")


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_a_table_is_readable_at_every_width(
    width: int, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(output, "PLAIN_WIDTH", width)
    output.table(NAMES, FLEET, title="Brindlemere Haulage & Coaches")
    lines = [line.rstrip() for line in capsys.readouterr().out.splitlines()]
    assert all(len(line) <= width for line in lines)
    assert lines[0] == "Brindlemere Haulage & Coaches"
    words = {word for row in FLEET for cell in row for word in cell.split()} | set(NAMES)
    assert words <= set(" ".join(lines).split())
    if width == 40:
        # A block for each vehicle; what is empty has no line.
        assert lines[1:8] == [
            "number      217", "  plate     QB04 XKM", "  kind      bus",
            "  depot     Saltmarsh Lane", "  recorder  marrowby-four", "", "number      305",
        ]  # fmt: skip
    if width == 120:
        assert len(lines) == 4
