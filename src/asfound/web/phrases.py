"""What the jobs say, in the reader's language.

A job says an English sentence, and the journal keeps it as it was said. Catalogues hold each
sentence with holes ("{count} of {disk_count} recordings …") under the context ``said``; a page
recognises the sentence by its words, and what stood in the holes goes into the translation. What
is not recognised is shown as it is: nothing is left out or guessed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from string import Formatter

CONTEXT = "said"
"""Context of these messages in the catalogues (gettext's msgctxt)."""

LONGEST = 2500
"""Characters of a text that is looked at; longer ones are shown as they are."""

DEEPEST = 8
"""Sentences within sentences."""

COMMANDS = re.compile(
    r"[;,:]?\s+`?asfound (?:visit|hold|fleet|map|read|rekey|compare|prove|coverage|cut"
    r"|report|request|drive|bundle|firmware|stick|rollout|evidence)\b.*\Z",
    re.DOTALL,
)
"""The end of a line that tells what to type: pages have a button for it."""

SENTENCES = re.compile(r"(?<=[.!?]) (?=[A-Z])")
LISTED = re.compile(r", ")

JOINTS = (re.compile(r"\n"), SENTENCES, re.compile(r"; "), LISTED)
"""Where sentences are joined, the widest first."""


def without_commands(text: str) -> str:
    """A text without the command that it ends with."""
    return COMMANDS.sub("", text)


@dataclass(frozen=True, slots=True)
class Phrase:
    """A sentence with holes: the words between them, the holes' names, and what is said for it.

    ``weight``: how many characters are the sentence's own.
    """

    words: tuple[str, ...]
    holes: tuple[str, ...]
    said: str
    weight: int

    def match(self, text: str) -> Mapping[str, str] | None:
        """What stands in the holes of ``text``; None when it is another sentence. Each hole ends
        where the words behind it begin for the first time, so that no text takes long."""
        first, last = self.words[0], self.words[-1]
        if not text.startswith(first) or not text.endswith(last):
            return None
        at, found = len(first), {}
        end = len(text) - len(last)
        for name, words in zip(self.holes[:-1], self.words[1:-1], strict=True):
            stop = text.find(words, at, end) if words else at
            if stop < 0:
                return None
            found[name], at = text[at:stop], stop + len(words)
        if at > end:
            return None
        return {**found, self.holes[-1]: text[at:end]}


def phrase_of(pattern: str, said: str) -> Phrase:
    """The sentence ``pattern`` with its translation. Raises ValueError for braces that are no
    holes."""
    words, holes = [""], []
    for text, name, _, _ in Formatter().parse(pattern):
        words[-1] += text
        if name is not None:
            holes.append(name)
            words.append("")
    return Phrase(tuple(words), tuple(holes), said, sum(map(len, words)))


START = 4
"""Characters by which sentences are found."""
REMEMBERED = 5_000
"""Sentences that stay known; then it begins anew."""
NO_IDS: Mapping[str, Mapping[str, str]] = {}


class Phrasebook:
    """Sentences by their English pattern, each with its translation.

    ``known`` looks a text up that has no holes (the language's other texts); ``ids`` are words
    for what stands in holes of these names, by themselves or in a list.
    """

    def __init__(
        self,
        sentences: Mapping[str, str],
        known: Callable[[str], str] = str,
        ids: Mapping[str, Mapping[str, str]] = NO_IDS,
    ) -> None:
        self._ids = ids
        made = [phrase_of(pattern, said) for pattern, said in sentences.items()]
        self._whole = {one.words[0]: phrase_of(one.said, "").words[0]
                       for one in made if not one.holes}  # fmt: skip
        # The sentence with most words of its own fits best.
        self._phrases = sorted((one for one in made if one.holes), key=lambda one: -one.weight)
        self._by_start: dict[str, tuple[Phrase, ...]] = {}
        self._told: dict[tuple[str, int], str | None] = {}
        self._known = known

    def said(self, text: str) -> str:
        """What a job said, in this language; the command at its end left out."""
        bare = without_commands(text)
        return self._said(bare, DEEPEST) if len(bare) <= LONGEST else bare

    def whole(self, text: str) -> str:
        """A line that may be a job's or a person's: translated only when it is one sentence of a
        job's from its beginning to its end."""
        told = self._sentence(text, 1) if len(text) <= LONGEST else None
        return text if told is None else told

    def _said(self, text: str, depth: int) -> str:
        core = text.strip()
        if not core or not depth:
            return text
        told = self._several(core, depth) or self._sentence(core, depth)
        if told is None:
            told = self._joined(core, depth)
        lead = text[: len(text) - len(text.lstrip())]
        return lead + told + text[len(text.rstrip()) :]

    def _sentence(self, text: str, depth: int) -> str | None:
        """The translation of a text that is one sentence; None when it is none that is known.
        What was looked up stays known: pages say the same sentences again and again."""
        asked = (text, depth)
        if asked in (told := self._told):
            return told[asked]
        if len(told) >= REMEMBERED:
            # Another thread may still look into the old one.
            self._told = {}
        made = self._looked_up(text, depth)
        self._told[asked] = made
        return made

    def _candidates(self, text: str) -> tuple[Phrase, ...]:
        """The phrases that may begin as ``text`` does, best first."""
        start = text[:START]
        known = self._by_start.get(start)
        if known is None:
            if len(self._by_start) >= REMEMBERED:
                self._by_start = {}
            known = tuple(one for one in self._phrases if start.startswith(one.words[0][:START]))
            self._by_start[start] = known
        return known

    def _looked_up(self, text: str, depth: int) -> str | None:
        if (whole := self._whole.get(text)) is not None:
            return whole
        for phrase in self._candidates(text):
            found = phrase.match(text)
            if found is not None:
                told = {name: self._filled(name, value, depth) for name, value in found.items()}
                return phrase.said.format_map(told)
        other = self._known(text)
        return other if other != text else None

    def _filled(self, hole: str, value: str, depth: int) -> str:
        words = self._ids.get(hole)
        if words is None:
            return self._said(value, depth - 1)
        return ", ".join(words.get(item, item) for item in value.split(", "))

    def _several(self, text: str, depth: int) -> str:
        """Two sentences and more that are all known; "" when it is one, or one is not."""
        pieces = SENTENCES.split(text)
        told = [self._sentence(piece, depth) for piece in pieces] if len(pieces) > 1 else [None]
        return " ".join(one for one in told if one) if None not in told else ""

    def _joined(self, text: str, depth: int) -> str:
        """Sentences one behind the other, or who it is about and what is said: "camera 3: …"."""
        if text.endswith(".") and (bare := self._sentence(text[:-1], depth)) is not None:
            return f"{bare}."
        who, colon, what = text.partition(": ")
        for joint in JOINTS:
            if joint is LISTED and colon and self._sentence(what, depth - 1) is not None:
                break
            pieces = joint.split(text)
            if len(pieces) > 1:
                told = [self._said(piece, depth - 1) for piece in pieces]
                joints = [*joint.findall(text), ""]
                return "".join(map("".join, zip(told, joints, strict=True)))
        return f"{self._said(who, depth - 1)}: {self._said(what, depth - 1)}" if colon else text
