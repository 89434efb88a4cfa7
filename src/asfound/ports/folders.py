"""Folders of recordings that pages may have looked at: named by whoever started the server.

A page names a folder by its key. No path from a request is ever joined to one of ours.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from asfound.errors import NotFound


@dataclass(frozen=True, slots=True)
class Folder:
    """A folder directly inside a place, or, with ``name`` "", the whole place."""

    key: str
    name: str


@dataclass(frozen=True, slots=True)
class Place:
    """A place with a name, e.g. where drives are plugged in.

    ``there``: it can be read now; a drive may be away. ``folders``: the whole place first, then
    what lies in it by name. ``more``: folders beyond those.
    """

    name: str
    there: bool
    folders: tuple[Folder, ...] = ()
    more: int = 0


class Folders(Protocol):
    """The places that were named."""

    def places(self) -> Sequence[Place]:
        """Every place as it is now, in the order in which they were named."""
        ...

    def path(self, key: str) -> Path:
        """The folder with this key. Raises NotFound when it is not there, or not any more."""
        ...


class NoFolders:
    """No place was named."""

    def places(self) -> Sequence[Place]:
        """None."""
        return ()

    def path(self, key: str) -> Path:
        """Always raises NotFound."""
        raise NotFound("no such folder; choose one from the list")


def folder_key(place: str, name: str) -> str:
    """The key of the folder ``name`` in ``place``: 16 hexadecimal figures."""
    text = f"{len(place)}:{place}/{name}"
    return hashlib.sha256(text.encode("utf-8", "surrogateescape")).hexdigest()[:16]
