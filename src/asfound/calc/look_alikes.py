"""Characters that look alike on a monitor: where they leave free text open.

Letters and figures of one shape (O and 0, l, I and 1) cannot be told apart by a recogniser that
has no list of allowed values; what it prefers follows its training, not the picture.
"""

from __future__ import annotations

import re

TWINS = {
    "0": "Oo", "O": "0", "o": "0", "1": "lI|!", "l": "1I|", "I": "1l|", "|": "1lI", "!": "1l",
    "5": "Ss", "S": "5", "8": "B", "B": "8", "2": "Zz", "Z": "2", "z": "2", "6": "Gb", "G": "6",
}  # fmt: skip
"""Character -> others that are drawn alike in some font."""

SAME_SHAPE = frozenset("0Oo1lI|")
"""Alike in many fonts; the others differ enough for a strong score to count."""

_STRONG = 0.97

_FIGURES = r"[0-9]+(?:[ .:/-]+[0-9]+)+"
"""A date, time, address or telephone number: figures in groups."""

_HARDWARE_ADDRESS = r"(?:[0-9A-Fa-f]{2}[:-]){5}[0-9A-Fa-f]{2}"
"""EUI-48 as IEEE 802 writes it: hexadecimal, so that no O or l can be meant."""

_FOLD = str.maketrans("OoQDIl|!SsBZzG", "00001111558226")


def folded(text: str) -> str:
    """``text`` without spaces, letter case and look-alikes: equal for texts that look alike."""
    return "".join(text.split()).translate(_FOLD).casefold()


def signs_only(text: str) -> str:
    """Letters and figures of ``text``, letter case aside: equal for texts that differ by spaces,
    points or capitals alone."""
    return "".join(filter(str.isalnum, text.casefold()))


def is_code(text: str) -> bool:
    """True where a word of ``text`` is made of look-alikes alone, figures or strokes in capitals
    among them ("2SO61", "SIGS"), so that any of them may be another; not of dates, times and other
    figures in groups."""
    if re.fullmatch(_FIGURES, text.strip()):
        return False
    return any(
        len(word) > 2
        and all(one in TWINS for one in word)
        and (any(map(str.isdigit, word)) or _has_stroke_in_capitals(word))
        for word in re.findall(r"[^\W_]+", text)
    )


def _has_stroke_in_capitals(word: str) -> bool:
    """True for "SIGS", which may be "SlGS", and not for "Ill" or "solo"."""
    return sum(one.isupper() and one != "I" for one in word) >= 2 and not {"I", "l"}.isdisjoint(
        word
    )


def open_character(text: str, scores: tuple[float, ...], alphabet: str = "") -> str:
    """A character of ``text`` that may as well be its look-alike; "" when there is none.

    ``scores``: certainty per character. ``alphabet`` lists what may stand there ("" = all): a
    look-alike outside it is no alternative.
    """
    if re.fullmatch(_HARDWARE_ADDRESS, text.strip()):
        alphabet = "0123456789ABCDEFabcdef"
    if re.fullmatch(_FIGURES, text.strip()):
        return ""
    if len(stroke := text.strip()) == 1 and stroke in "1lI|!i":
        # The end of a cursor bar looks like this, too.
        return stroke
    for token in re.finditer(r"[^\W_]+|[|!]+", text):
        word = token.group()
        for offset, character in enumerate(word):
            others = [one for one in TWINS.get(character, "") if not alphabet or one in alphabet]
            if not others or not _stands_alone(word, offset):
                continue
            if character in SAME_SHAPE or scores[token.start() + offset] < _STRONG:
                return character
    return ""


def _stands_alone(word: str, offset: int) -> bool:
    """True where the rest of the word does not say whether a letter or a figure is meant."""
    character = word[offset]
    rest = word[:offset] + word[offset + 1 :]
    figures = sum(one.isdigit() for one in rest)
    letters = len(rest) - figures
    if figures and letters:
        return not _inside_a_run(word, offset)
    if character.isdigit():
        # Figures alone are a number, unless each of them could be a letter.
        return letters > 0 or (len(word) > 2 and all(one in TWINS for one in word))
    if figures:
        return True
    if character == "I":
        # A capital within a small word, or the last of one: "Al" is as likely.
        return offset > 0 and any(one.islower() for one in rest)
    return len(word) > 2 and all(one in TWINS for one in word)


def _inside_a_run(word: str, offset: int) -> bool:
    """True in a name with a number ("bus217") between neighbours of its own kind, when each of
    the two runs has a character without a look-alike: then the run says what is meant."""
    parts = re.fullmatch(r"([^\W\d_]+)([0-9]+)|([0-9]+)([^\W\d_]+)", word)
    if parts is None:
        return False
    first, second = (part for part in parts.groups() if part is not None)
    edges = (0, len(first) - 1, len(first), len(word) - 1)
    return offset not in edges and all(
        any(one not in TWINS for one in run) for run in (first, second)
    )


def other_spellings(text: str) -> tuple[str, ...]:
    """``text`` with lone figures in words turned into the letters they look like, and the
    other way round: "0ctad" -> "Octad", "1O" -> "10"."""
    found = []
    for figures, letters in (("0", "O"), ("1", "l"), ("1", "I"), ("5", "S"), ("8", "B")):
        trial = re.sub(
            rf"(?<![0-9]){figures}(?=[A-Za-z])|(?<=[A-Za-z]){figures}(?![0-9])", letters, text
        )
        found.append(trial)
        found.append(re.sub(rf"(?<=[0-9]){letters}|{letters}(?=[0-9])", figures, text))
    return tuple(dict.fromkeys(one for one in found if one != text))
