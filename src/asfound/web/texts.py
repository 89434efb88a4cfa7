"""Texts in the languages there are: gettext catalogues, compiled when the server starts.

``locale/asfound.pot`` lists every text; ``locale/<language>/asfound.po`` translates it. English
texts are their own keys. What jobs say is kept under a context of its own (phrases.py).
"""

from __future__ import annotations

import gettext
import io
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from asfound.web.phrases import CONTEXT, Phrasebook
from asfound.web.proof_words import FINDINGS

LANGUAGES: Mapping[str, str] = {"en": "English", "de": "Deutsch"}
"""Languages by tag (BCP 47), each by its own name; the first is taken when no other fits."""

DEFAULT = "en"

KINDS = {kind.value: words for kind, words in FINDINGS.items()}
"""Findings as jobs name them in a sentence, and as a person would call them."""

KIND_HOLE = "finding_kind"
"""The hole of sentences in which they stand."""


class Texts(gettext.GNUTranslations):
    """A language's texts; ``phrases`` translates what jobs say."""

    def __init__(self, packed: io.BytesIO, sentences: Mapping[str, str]) -> None:
        super().__init__(packed)
        kinds = {kind: self.gettext(words) for kind, words in KINDS.items()}
        self.phrases = Phrasebook(sentences, self.gettext, {KIND_HOLE: kinds})

    def told(self, text: object) -> str:
        """What a job said, or an error says, in the language."""
        return self.phrases.said(str(text))


@cache
def load_texts() -> Mapping[str, Texts]:
    """A catalogue for each language, read once in a process."""
    return {tag: _compiled(tag) for tag in LANGUAGES}


def _compiled(tag: str) -> Texts:
    source = files("asfound.web").joinpath("locale", tag, "asfound.po").read_bytes()
    catalog = read_po(io.BytesIO(source), locale=tag)
    sentences = {
        str(message.id): str(message.string or message.id)
        for message in catalog
        if message.context == CONTEXT
    }
    packed = io.BytesIO()
    write_mo(packed, catalog)
    packed.seek(0)
    return Texts(packed, sentences)


def best_language(accepted: str, chosen: str = "") -> str:
    """The language to answer in: the chosen one, else the best of an Accept-Language header
    (RFC 9110, section 12.5.4)."""
    if chosen in LANGUAGES:
        return chosen
    wanted: list[tuple[float, int, str]] = []
    for place, part in enumerate(accepted.split(",")):
        tag, _, weight = part.strip().partition(";")
        wanted.append((-_weight(weight), place, tag.strip().lower().partition("-")[0]))
    for negative, _, tag in sorted(wanted):
        if tag in LANGUAGES and negative < 0:
            return tag
    return DEFAULT


def _weight(text: str) -> float:
    name, _, value = text.strip().partition("=")
    if name.strip() != "q":
        return 1.0
    try:
        return min(max(float(value), 0.0), 1.0)
    except ValueError:
        return 0.0
