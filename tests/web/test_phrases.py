"""What jobs say, recognised by its words and said in the reader's language."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from string import Formatter
from types import ModuleType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.web.phrases import LONGEST, Phrasebook, phrase_of, without_commands
from asfound.web.texts import load_texts

ROOT = Path(__file__).parents[2]
GERMAN = load_texts()["de"]

SENTENCES = {
    "no page was read yet": "noch keine Seite wurde gelesen",
    "step {id} ({title}) is locked: {why}{more}": "Schritt {id} ({title}), zu: {why}{more}",
    "(and {n} more)": "(und {n} weitere)",
    "{count} not read: {pages}": "{count} nicht gelesen: {pages}",
    "{number} pages": "{number} Seiten",
    "camera {channel}": "Kamera {channel}",
    "{named} and {more} more": "{named} und {more} weitere",
    "Nothing is amiss.": "Nichts zu beanstanden.",
    "The visit is open.": "Der Besuch ist offen.",
}
BOOK = Phrasebook(SENTENCES, lambda text: "Bild steht" if text == "picture stands" else text)


@pytest.fixture(scope="module")
def tool() -> ModuleType:
    spec = importlib.util.spec_from_file_location("job_texts", ROOT / "tools" / "job_texts.py")
    assert spec and spec.loader
    made = importlib.util.module_from_spec(spec)
    sys.modules["job_texts"] = made
    spec.loader.exec_module(made)
    return made


@pytest.mark.parametrize(
    ("english", "german"),
    [
        ("no page was read yet", "noch keine Seite wurde gelesen"),
        (
            "step 'x' (Reset) is locked: no page was read yet; asfound visit read 1 PHOTO...",
            "Schritt 'x' (Reset), zu: noch keine Seite wurde gelesen",
        ),
        ("3 pages not read: a, b and 2 more", "3 Seiten nicht gelesen: a, b und 2 weitere"),
        ("Nothing is amiss. The visit is open.", "Nichts zu beanstanden. Der Besuch ist offen."),
        ("camera 6: picture stands", "Kamera 6: Bild steht"),
        (" no page was read yet ", " noch keine Seite wurde gelesen "),
        ("what nobody ever said", "what nobody ever said"),
        ("", ""),
    ],
)
def test_sentences_come_out_in_the_language(english: str, german: str) -> None:
    assert BOOK.said(english) == german


def test_a_command_at_the_end_is_left_out_and_the_name_of_the_program_stays() -> None:
    assert without_commands("no visit 'x'; `asfound visit list` shows them") == "no visit 'x'"
    assert without_commands("bring asfound up to date") == "bring asfound up to date"


def test_findings_are_called_by_their_words() -> None:
    told = "the proof found faults: frozen on channel 3, no-signal on channel 1"
    assert GERMAN.told(told) == (
        "der Nachweis hat Fehler gefunden: Bild steht still auf Kanal 3, "
        "kein Kamerasignal auf Kanal 1"
    )
    assert "picture stands still on channel 3" in load_texts()["en"].told(told)


@given(st.text())
def test_any_text_comes_out(text: str) -> None:
    # Nothing that somebody typed breaks a page: braces, percent signs, line ends.
    assert isinstance(BOOK.said(text), str)
    assert isinstance(GERMAN.told(text), str)


def test_long_texts_are_shown_as_they_are() -> None:
    text = "no page was read yet, " * LONGEST
    assert BOOK.said(text) == text


@given(st.text(min_size=1).filter(lambda text: text == text.strip()))
def test_what_stood_in_a_hole_is_kept_to_the_letter(name: str) -> None:
    book = Phrasebook({"<{name}> is locked": "<{name}> ist zu"})
    assert book.said(f"<{name}> is locked") == f"<{name}> ist zu"


def test_every_sentence_of_the_jobs_is_recognised_as_itself(tool: ModuleType) -> None:
    # Filled with two words each, so that a hole that ends at the first blank would be seen.
    texts = [text for _, text in tool.job_texts(ROOT / "src" / "asfound")]
    assert len(texts) > 400
    book = Phrasebook({text: f"<{text}>" for text in texts})
    for text in texts:
        # Where one hole ends and the next begins nobody could tell.
        assert "}{" not in text.replace("}}", "").replace("{{", ""), text
        holes = {name: f"qq{at} zz" for at, name in enumerate(phrase_of(text, "").holes)}
        assert book.said(text.format_map(holes)) == f"<{text}>".format_map(holes)


def test_translations_have_the_same_holes(tool: ModuleType) -> None:
    texts_tool = _texts_tool()
    for tag in texts_tool.LANGUAGES:
        for message in texts_tool.load(tag):
            if message.context == "said" and message.string:
                assert _holes(message.string) == _holes(message.id), message.id


def _texts_tool() -> ModuleType:
    spec = importlib.util.spec_from_file_location("texts_tool", ROOT / "tools" / "texts.py")
    assert spec and spec.loader
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    return made


def _holes(text: str) -> list[str]:
    return sorted(name for _, name, _, _ in Formatter().parse(text) if name is not None)


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ('raise UsageError(f"no page {page!r}; look again")', ["no page {page}; look again"]),
        ('raise ValueError("never shown to anybody")', []),
        ("why = f\"{n} page{'' if n == 1 else 's'} left\"", ["{n} page left", "{n} pages left"]),
        ('"""A docstring is no text."""', []),
        ("say = f\"read {count(n, 'page')} now\"", ["read {n} now", "1 page", "{number} pages"]),
        ('say = "start " + "and end"', ["start and end"]),
        ('raise NotFound("no visit; `asfound visit list` shows them")', ["no visit"]),
        ('pattern = r"[0-9]{3} \\w+ \\d"', []),
    ],
)
def test_texts_are_found_in_code(
    tool: ModuleType, tmp_path: Path, source: str, found: list[str]
) -> None:
    (tmp_path / "jobs").mkdir()
    (tmp_path / "jobs" / "some.py").write_text(source, encoding="utf-8")
    told = [text for _, text in tool.job_texts(tmp_path)]
    assert sorted(told) == sorted(found)
