"""A track from GPX 1.1 (or 1.0), read as it comes; document types and entities are refused.

Track points have latitude and longitude in degrees (WGS 84) and time in UTC. Speed [m/s] and course
are no elements of a 1.1 track point: they are taken from its extensions by those names, whatever
their namespace, or from where 1.0 has them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC
from math import nan
from xml.parsers import expat

from asfound.calc.log_values import TimeForm, log_time, number
from asfound.errors import InputError
from asfound.jobs.gather_fixes import Fix, Gathered
from asfound.model.track_log import FixFault

DEEPEST = 64
LONGEST_TEXT = 200
WANTED = frozenset({"time", "speed", "course"})


class _Refused(Exception):
    """What must not be in it was."""


@dataclass
class _Reader:
    into: Gathered
    parser: expat.XMLParserType
    depth: int = 0
    point: dict[str, str] | None = None
    line: int = 0
    name: str = ""
    text: list[str] = field(default_factory=list)
    points: int = 0

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        self.depth += 1
        if self.depth > DEEPEST:
            raise _Refused(f"elements stand more than {DEEPEST} deep in each other")
        name = _local(tag)
        if self.depth == 1 and name != "gpx":
            raise _Refused(f"its outermost element is {name[:40]!r}, not gpx")
        if name == "trkpt":
            self.points += 1
            self.line = self.parser.CurrentLineNumber
            self.point = {key: attributes.get(key, "") for key in ("lat", "lon")}
        elif self.point is not None and name in WANTED and name not in self.point:
            self.name, self.text = name, []

    def data(self, text: str) -> None:
        if self.name and sum(map(len, self.text)) < LONGEST_TEXT:
            self.text.append(text[:LONGEST_TEXT])

    def end(self, tag: str) -> None:
        self.depth -= 1
        name = _local(tag)
        if self.point is None:
            return
        if name == self.name:
            self.point[name] = "".join(self.text)
            self.name = ""
        elif name == "trkpt":
            self._add(self.point)
            self.point = None

    def _add(self, point: dict[str, str]) -> None:
        if not point.get("time", "").strip():
            self.into.fault(FixFault.NO_TIME, self.line, "a point without time")
            return
        try:
            at = log_time(point["time"], TimeForm.ISO, UTC)
            lat, lon = number(point["lat"]), number(point["lon"])
            if lat != lat or lon != lon:
                raise ValueError("a point without latitude or longitude")
        except ValueError as error:
            self.into.fault(FixFault.BROKEN, self.line, str(error))
            return
        speed, course = (self._extra(point, each) for each in ("speed", "course"))
        self.into.add(Fix(at, lat, lon, speed, course), self.line)

    def _extra(self, point: dict[str, str], name: str) -> float:
        try:
            return number(point.get(name, ""))
        except ValueError as error:
            self.into.fault(FixFault.BROKEN, self.line, f"{name}: {error}")
            return nan


def read_gpx(chunks: Iterable[bytes], into: Gathered) -> None:
    """Adds the fixes of all tracks. A file that breaks off is read up to there.

    Raises InputError: not GPX, or with a document type or entities.
    """
    parser = expat.ParserCreate(namespace_separator=" ")
    reader = _Reader(into, parser)
    parser.StartElementHandler, parser.EndElementHandler = reader.start, reader.end
    parser.CharacterDataHandler = reader.data
    parser.StartDoctypeDeclHandler = _refuse_doctype
    parser.EntityDeclHandler = _refuse_doctype
    try:
        for chunk in chunks:
            parser.Parse(chunk, False)
        parser.Parse(b"", True)
    except _Refused as error:
        raise InputError(f"{into.name}: {error}; give GPX as a receiver writes it") from None
    except (LookupError, ValueError):
        raise InputError(f"{into.name}: is in an unknown encoding; give it in UTF-8") from None
    except expat.ExpatError as error:
        if not reader.points:
            why = expat.ErrorString(error.code)
            raise InputError(f"{into.name}:{error.lineno}: not readable as GPX: {why}") from None
        what = f"not readable from here on: {expat.ErrorString(error.code)}"
        into.fault(FixFault.BROKEN, error.lineno, what)


def _refuse_doctype(*_: object) -> None:
    # GPX has none; entities are how a small file becomes a huge one, or reads others.
    raise _Refused("has a document type or entities, which GPX never has and which are refused")


def _local(tag: str) -> str:
    return tag.rpartition(" ")[2]
