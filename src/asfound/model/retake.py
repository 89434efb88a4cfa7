"""What spoils a photograph, and which ones are worth taking again."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Cause(StrEnum):
    """Why values could not be read for sure; said to the person as it stands here."""

    GLARE = "glare"
    STAIN = "a smear on the glass"
    COVERED = "something in front of it"
    CUT = "cut off"
    SHAKE = "a shaken hand"
    FOCUS = "out of focus"
    BLURRED = "blurred"
    DARK = "too dark"
    SMALL = "too small"
    OBLIQUE = "taken from too far aside"
    STRIPES = "stripes"


@dataclass(frozen=True, slots=True)
class Fault:
    """One cause on one photograph. ``fields`` are the uncertain fields that it spoils; empty
    when the page could not be told, and it spoils all. ``hint`` is what to do, as a command.
    ``measured`` against ``limit`` in ``unit`` is what it was told by."""

    cause: Cause
    hint: str
    fields: tuple[str, ...]
    measured: float
    limit: float
    unit: str


@dataclass(frozen=True, slots=True)
class Retake:
    """A page worth photographing again. ``page`` is None when the photograph ``file`` shows no
    page that could be told. ``number`` of ``pages``: in menu order. ``rows`` are (field id, row
    from 1, label, cause); ``hints`` what to do, the one that helps most rows first."""

    page: str | None
    title: str
    number: int
    pages: int
    file: str
    rows: tuple[tuple[str, int, str, Cause], ...]
    hints: tuple[str, ...]
    causes: tuple[Cause, ...]
