"""Text from outside, made safe to show: what a screen would obey or hide is written out.

Names of files and people can hold escape sequences that move a terminal's cursor, characters
that turn the direction of a line round (Unicode Standard Annex #9), or bytes that are no UTF-8
(PEP 383). Written as ⟨U+001B⟩ they can be seen, and do nothing.
"""

from __future__ import annotations

import unicodedata

_TURNS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Direction controls of Unicode Standard Annex #9."""

_UNSEEN = frozenset({"Cc", "Cs", "Zl", "Zp"})
"""Control characters, halves of surrogate pairs (bytes that are no UTF-8), line separators."""


def unseen(text: str, but: str = "") -> str:
    """The first character of ``text`` that must not reach a screen as it is, or "".

    Characters in ``but`` are let through.
    """
    return next((char for char in text if _is_unseen(char) and char not in but), "")


def plain(text: str, but: str = "") -> str:
    """``text`` with each such character written out as ⟨U+XXXX⟩."""
    if not unseen(text, but):
        return text
    return "".join(code(char) if _is_unseen(char) and char not in but else char for char in text)


def code(char: str) -> str:
    """``char`` by its number, as the report writes it too."""
    return f"⟨U+{ord(char):04X}⟩"


def _is_unseen(char: str) -> bool:
    return unicodedata.category(char) in _UNSEEN or char in _TURNS
