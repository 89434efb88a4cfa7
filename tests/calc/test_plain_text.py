"""What a screen would obey or hide, held against Python's own terms and the Unicode standard."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.plain_text import plain, unseen


@given(st.text())
def test_what_is_written_out_holds_nothing_unseen_and_can_be_encoded(text: str) -> None:
    made = plain(text)
    assert unseen(made) == ""
    made.encode("utf-8")


@given(st.binary(max_size=40))
def test_any_file_name_can_be_shown(name: bytes) -> None:
    # PEP 383: a file's name with bytes that are no UTF-8 comes as lone surrogates.
    plain(name.decode("utf-8", "surrogateescape")).encode("utf-8")


def test_escape_sequences_and_turned_text_are_written_out() -> None:
    # ECMA-48: ESC is 1/11 and CSI 9/11; Unicode Standard Annex #9: U+202E turns the line round.
    assert plain("\x1b[31m") == "⟨U+001B⟩[31m"
    assert plain("\u009b31m") == "⟨U+009B⟩31m"
    assert plain("gpj.\u202eexe") == "gpj.⟨U+202E⟩exe"
    assert plain("a\nb", but="\n") == "a\nb"


def test_letters_of_all_scripts_stay() -> None:
    for text in ("Łódź", "Αθήνα", "岐阜", "👩‍🔧", "a b–c"):
        assert plain(text) == text
