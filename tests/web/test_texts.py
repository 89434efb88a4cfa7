"""Every text is in the catalogue, in both languages; templates hold none themselves."""

from __future__ import annotations

import importlib.util
import re
import sys
from pathlib import Path
from types import ModuleType

import pytest
from jinja2 import Environment
from tests.web.kit import Browser, services

from asfound.web.texts import LANGUAGES, best_language, load_texts

ROOT = Path(__file__).parents[2]
TEMPLATES = sorted((ROOT / "src/asfound/web/templates").glob("*.j2"))
UNITS = {"asfound", "V", "GB", "kB", "s", "min", "fps", "Hz", "×"}
"""What is the same in every language: the name of the program, and signs of units (ISO 80000)."""

HOLES = re.compile(r"%\((\w+)\)s")


@pytest.fixture(scope="module")
def tool() -> ModuleType:
    spec = importlib.util.spec_from_file_location("texts_tool", ROOT / "tools" / "texts.py")
    assert spec and spec.loader
    made = importlib.util.module_from_spec(spec)
    sys.modules["texts_tool"] = made
    spec.loader.exec_module(made)
    return made


def test_no_text_lacks_its_translation(tool: ModuleType) -> None:
    wanted = tool.template()
    assert len(wanted) > 200
    assert tool.missing("de", wanted) == [], "run tools/texts.py and translate what is new"


def test_the_list_of_texts_is_up_to_date(tool: ModuleType) -> None:
    stored = (tool.LOCALE / "asfound.pot").read_text(encoding="utf-8")
    for message in tool.template():
        first = message.id[0] if isinstance(message.id, tuple) else message.id
        for piece in re.findall(r"\w+", first):
            assert piece in stored, f"run tools/texts.py: {first}"


def test_translations_keep_their_holes(tool: ModuleType) -> None:
    for message in tool.load("de"):
        pairs = zip(
            message.id if isinstance(message.id, tuple) else [message.id],
            message.string if isinstance(message.string, tuple) else [message.string],
            strict=True,
        )
        for source, translated in pairs:
            if source:
                assert sorted(HOLES.findall(source)) == sorted(HOLES.findall(translated)), source
            if "VISIT" in source:
                assert source.count("VISIT") == translated.count("VISIT")


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.name)
def test_templates_hold_no_text_of_their_own(template: Path) -> None:
    # Expressions become a space, tags go; letters that are left were typed into the template.
    pieces = []
    for _, kind, value in Environment().lex(template.read_text(encoding="utf-8")):
        pieces.append(value if kind == "data" else " " if "end" not in kind else "\x00")
    shown = re.sub(r"<[^>]*>", " ", "".join(pieces).replace("\x00", " "))
    words = set(re.findall(r"[^\W\d_]+", shown)) - UNITS
    assert not words, f"put into _(): {words}"
    for name in ("aria-label", "alt", "title", "placeholder"):
        bare = re.findall(rf'{name}="[^"{{]*[A-Za-z][^"{{]*"', template.read_text(encoding="utf-8"))
        assert not bare, f"put into _(): {bare}"


@pytest.mark.parametrize(
    ("accepted", "chosen", "language"),
    [
        ("de-DE,de;q=0.9,en;q=0.8", "", "de"),  # RFC 9110, 12.5.4
        ("en-GB,en;q=0.9,de;q=0.1", "", "en"),
        ("fr, de;q=0.3", "", "de"),
        ("de;q=0", "", "en"),
        ("de;q=x, *", "", "en"),
        ("", "", "en"),
        ("de", "en", "en"),
        ("de", "tlh", "de"),
    ],
)
def test_the_language_is_what_the_browser_asks_for(
    accepted: str, chosen: str, language: str
) -> None:
    assert best_language(accepted, chosen) == language


def test_plurals_follow_the_language() -> None:
    texts = load_texts()
    assert set(texts) == set(LANGUAGES)
    assert texts["de"].ngettext("%(num)s vehicle", "%(num)s vehicles", 1) == "%(num)s Fahrzeug"
    assert texts["de"].ngettext("%(num)s vehicle", "%(num)s vehicles", 3) == "%(num)s Fahrzeuge"


def test_pages_speak_german(tmp_path: Path) -> None:
    browser = Browser(services(tmp_path))
    page = browser.get("/vehicles", headers={"Accept-Language": "de"}).text
    assert '<html lang="de"' in page and "Alle Fahrzeuge" not in page and "3 Fahrzeuge" in page
    page = browser.get("/vehicles/217/open", headers={"Accept-Language": "de"}).text
    assert "Firmware und Zurücksetzen" in page
