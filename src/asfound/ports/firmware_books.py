"""Where a fleet keeps its firmware catalogue and its rollouts, as they are at this moment."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from asfound.model.firmware import Catalogue
from asfound.model.fleet import Fleet
from asfound.model.menu_map import MenuMap
from asfound.model.rollout import Rollout


class FirmwareBooks(Protocol):
    """Files of the home folder; read anew at each call."""

    def catalogue(self) -> tuple[Catalogue, str] | None:
        """The catalogue and the SHA-256 of its file; None while there is none. Raises InputError,
        StorageError."""
        ...

    def rollouts(self) -> Sequence[Rollout]:
        """Every rollout, none while there is no such folder. Raises InputError, StorageError."""
        ...

    def fleet(self) -> Fleet:
        """The fleet. Raises NotFound, InputError."""
        ...

    def menu_map(self, map_id: str) -> MenuMap:
        """A menu map by its id. Raises NotFound, MapError."""
        ...
