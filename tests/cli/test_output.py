"""What reaches the terminal: no escape sequence from outside, nothing it cannot encode."""

from __future__ import annotations

import errno
import io
import json
import sys

import pytest
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
