"""Where each key of a TOML document stands: path -> line number, counted from 1.

``tomllib`` tells the values only. This scanner reads text that ``tomllib`` has already accepted, so
it needs no error handling of its own; it follows the TOML 1.0.0 grammar for keys, strings, arrays,
inline tables and headers.
"""

from __future__ import annotations

import re
import tomllib

Place = tuple[str | int, ...]
"""Keys and list positions (from 0) from the top of the document."""

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_BLANK = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_SCALAR = re.compile(r"[^,\]}#\n]*")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"""(?:""|"(?!"))?'
    r"|'''.*?'''(?:''|'(?!'))?"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'",
    re.DOTALL,
)


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text.replace("\r\n", "\n")
        self.at = 0
        self.lines: dict[Place, int] = {(): 1}
        self._counted = 0
        self._line = 1
        self._tables: dict[Place, int] = {}

    def line(self) -> int:
        """The line number at the present position."""
        self._line += self.text.count("\n", self._counted, self.at)
        self._counted = self.at
        return self._line

    def skip(self, pattern: re.Pattern[str]) -> None:
        if match := pattern.match(self.text, self.at):
            self.at = match.end()

    def document(self) -> None:
        prefix: Place = ()
        self.skip(_BLANK)
        while self.at < len(self.text):
            if self.text.startswith("[", self.at):
                prefix = self.header()
            else:
                self.pair(prefix)
            self.skip(_BLANK)

    def header(self) -> Place:
        line = self.line()
        repeated = self.text.startswith("[[", self.at)
        self.at += 2 if repeated else 1
        keys = self.keys()
        self.at += 2 if repeated else 1
        place: Place = ()
        for number, key in enumerate(keys):
            place = (*place, key)
            self.lines.setdefault(place, line)
            if repeated and number == len(keys) - 1:
                self._tables[place] = self._tables.get(place, 0) + 1
            if place in self._tables:
                place = (*place, self._tables[place] - 1)
        self.lines[place] = line
        return place

    def pair(self, prefix: Place) -> None:
        line = self.line()
        place = prefix
        for key in self.keys():
            place = (*place, key)
            self.lines.setdefault(place, line)
        self.at += 1  # the equals sign
        self.value(place)

    def keys(self) -> list[str]:
        found: list[str] = []
        while True:
            self.skip(_SPACE)
            if bare := _BARE.match(self.text, self.at):
                found.append(bare.group())
                self.at = bare.end()
            else:
                start = self.at
                self.skip(_STRING)
                found.append(tomllib.loads(f"key = {self.text[start : self.at]}")["key"])
            self.skip(_SPACE)
            if not self.text.startswith(".", self.at):
                return found
            self.at += 1

    def value(self, place: Place) -> None:
        self.skip(_SPACE)
        opening = self.text[self.at : self.at + 1]
        if opening == "[":
            self.members(place, "]")
        elif opening == "{":
            self.members(place, "}")
        elif opening in ("'", '"'):
            self.skip(_STRING)
        else:
            self.skip(_SCALAR)

    def members(self, place: Place, closing: str) -> None:
        self.at += 1
        position = 0
        while True:
            self.skip(_BLANK)
            if self.text.startswith(closing, self.at) or self.at >= len(self.text):
                self.at += 1
                return
            if self.text.startswith(",", self.at):
                self.at += 1
            elif closing == "]":
                self.lines[(*place, position)] = self.line()
                self.value((*place, position))
                position += 1
            else:
                self.pair(place)


def line_index(text: str) -> dict[Place, int]:
    """The line of every key, table and list member of ``text``, which must be valid TOML."""
    scanner = _Scanner(text)
    scanner.document()
    return scanner.lines
