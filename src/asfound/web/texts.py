"""Texts in the languages there are: gettext catalogues, compiled when the server starts.

``locale/asfound.pot`` lists every text; ``locale/<language>/asfound.po`` translates it. English
texts are their own keys.
"""

from __future__ import annotations

import gettext
import io
from collections.abc import Mapping
from importlib.resources import files

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

LANGUAGES: Mapping[str, str] = {"en": "English", "de": "Deutsch"}
"""Languages by tag (BCP 47), each by its own name; the first is taken when no other fits."""

DEFAULT = "en"


def load_texts() -> Mapping[str, gettext.NullTranslations]:
    """A catalogue for each language."""
    return {tag: _compiled(tag) for tag in LANGUAGES}


def _compiled(tag: str) -> gettext.NullTranslations:
    source = files("asfound.web").joinpath("locale", tag, "asfound.po").read_bytes()
    catalog = read_po(io.BytesIO(source), locale=tag)
    packed = io.BytesIO()
    write_mo(packed, catalog)
    packed.seek(0)
    return gettext.GNUTranslations(packed)


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
