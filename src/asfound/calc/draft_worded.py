"""Rows that show words: a switch, a list of options, a text, or a number's special word."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import combinations

from rapidfuzz.distance import Levenshtein

from asfound.calc.draft_evidence import HOST_LENGTH, OPEN_LENGTH, Guess, Seen
from asfound.calc.draft_shapes import is_host, switch_word
from asfound.calc.draft_words import HOST, NAME, QUANTITY
from asfound.model.kinds import Choice, Host, Number, Switch, Text


def words_guess(seen: Seen) -> Guess:
    """Words: a switch, a list of options, or a text."""
    contrary = seen.habits.lamps and seen.lamp < 0.34
    if (pair := _only_pair(seen)) is not None:
        both = len({text.casefold() for text in seen.texts} & set(pair)) == 2
        if both or not contrary:
            return _quantity(seen) or _switch(seen, pair)
    one_word = all(" " not in text and text.isalpha() for text in seen.texts)
    if (amount_word := _quantity(seen)) is not None:
        return amount_word
    if seen.habits.lamps and seen.lamp >= 0.5 and len(seen.values) <= 2 and one_word:
        return _lamp_switch(seen)
    if seen.share(is_host) > 0.5 or (HOST.search(seen.label) and seen.blanks):
        return Guess(Host(HOST_LENGTH), ("length",), "")
    if seen.blanks:
        unsure = ("length",) if seen.blanks > 1 or NAME.search(seen.label) else ("type", "length")
        return Guess(Text(OPEN_LENGTH), unsure, "" if len(unsure) == 1 else "a text?")
    if len(seen.values) == 2 and seen.count >= 8 and one_word and seen.values[1].count > 1:
        # A list of three or more would have shown a third word by now.
        return _lamp_switch(seen)
    return _text_or_choice(seen)


def _only_pair(seen: Seen) -> tuple[str, str] | None:
    """The one pair of opposites that all values come from, a misread one now and then aside."""
    told = {text: pair for text in seen.texts if (pair := switch_word(text)) is not None}
    if len(set(told.values())) != 1:
        return None
    pair = next(iter(told.values()))
    strays = [value.count for value in seen.values if value.text not in told]
    if sum(strays) <= max(0.1 * seen.count, float(seen.count >= 6)) and max(strays, default=1) == 1:
        return pair
    for value in seen.values:
        if value.text in told:
            continue
        if value.count > 1 or seen.count < 4 or not any(_misread(value.text, w) for w in pair):
            return None
    return pair


def _misread(text: str, word: str) -> bool:
    """True for the word with a slip, or with a lamp and an arrow before it ("100n" for On)."""
    here = text.casefold().replace("0", "o").replace("1", "l")
    ends = here.endswith(word) and len(here) - len(word) <= 3
    return ends or Levenshtein.distance(here, word) <= min(2, len(word) - 1)


def _quantity(seen: Seen) -> Guess | None:
    """Only one word was seen where the label asks for an amount ("Delete after": "Never")."""
    if len(seen.values) == 1 and QUANTITY.search(seen.label):
        word = seen.texts[0]
        check = f"only {word!r} was seen: a number with its unit and range?"
        kind = Number(Decimal(0), Decimal(99999), Decimal(1), 0, "", (word,))
        return Guess(kind, ("type", "range", "options"), check)
    return None


def _switch(seen: Seen, pair: tuple[str, str]) -> Guess:
    shown = {" ".join(text.split()).casefold(): text for text in seen.texts if switch_word(text)}
    first = next(iter(shown.values()))
    on = shown.get(pair[0]) or _cased(pair[0], first)
    off = shown.get(pair[1]) or _cased(pair[1], first)
    if len(shown) == 2:
        return Guess(Switch(on, off), ("options",))
    other = off if pair[0] in shown else on
    check = f"only {first!r} was seen: is {other!r} its opposite, or is it a list?"
    return Guess(Switch(on, off), ("type", "options"), check)


def _cased(word: str, like: str) -> str:
    if like.isupper():
        return word.upper()
    return word.capitalize() if like[:1].isupper() else word


def _lamp_switch(seen: Seen) -> Guess:
    """Words of the recorder's own, beside a lamp or never more than two: which of them is on
    nobody can tell."""
    words = seen.texts
    if len(words) == 2:
        check = f"which of {words[0]!r} and {words[1]!r} is on?"
        return Guess(Switch(words[0], words[1]), ("options",), check)
    check = f"only {words[0]!r} was seen: what is its opposite, and which is on?"
    return Guess(Switch(words[0], f"not {words[0]}"), ("type", "options"), check)


def _text_or_choice(seen: Seen) -> Guess:
    distinct, count = len(seen.values), seen.count
    stepped = seen.stepped >= 0.3
    score = 0.0
    score += 2.0 if NAME.search(seen.label) else 0.0
    score += 1.0 if count >= 4 and distinct >= 0.75 * count else 0.0
    score += 1.5 if distinct >= 6 and distinct >= 0.55 * count else 0.0
    score += 1.0 if seen.pooled and distinct == count >= 3 else 0.0
    score += 0.6 * seen.share(_looks_keyed)
    score += 2.0 if seen.habits.stepped and not stepped else 0.0
    score -= 2.0 if stepped else 0.0
    score -= 1.0 if count >= 4 and distinct <= 0.5 * count else 0.0
    score -= 1.5 if any(switch_word(text) for text in seen.texts) else 0.0
    score -= 0.8 if _share_a_word(seen.texts) else 0.0
    if score >= 1.0:
        unsure = ("type", "length") if score < 2.0 else ("length",)
        return Guess(Text(OPEN_LENGTH), unsure, "a text, or a list?" if score < 2.0 else "")
    known = stepped or (count >= 4 and distinct <= 0.5 * count)
    unsure = ("options",) if known else ("type", "options")
    check = "" if known else "a list of options, a switch, or a text?"
    if known and distinct == 1:
        check = f"only {seen.texts[0]!r} was seen: which others are there?"
    elif known and distinct == 2:
        check = "two words only: a switch?"
    return Guess(Choice(seen.texts), unsure, check)


def _share_a_word(texts: Sequence[str]) -> bool:
    """True when two of the values have a word in common ("Log", "Log and keep"), as options
    have more often than names."""
    words = [
        {word.casefold() for word in text.split() if word.isalpha() and len(word) > 1}
        for text in texts
        if not any(sign.isdigit() for sign in text)
    ]
    return any(a & b for a, b in combinations(words, 2))


def _looks_keyed(text: str) -> bool:
    """Letters and figures in one word, or capitals throughout: as a person keys names in."""
    mixed = any(
        any(sign.isdigit() for sign in word) and any(sign.isalpha() for sign in word)
        for word in text.split()
    )
    return mixed or (text.isupper() and len(text) > 3)
