"""Named folders of this machine, listed when they are asked for."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from pathlib import Path

from asfound.calc.plain_text import plain
from asfound.errors import NotFound
from asfound.ports.folders import Folder, Place, folder_key

MOST = 400
"""Folders of a place that are listed; a drive holds one a day or one a channel."""


class DiskFolders:
    """Places on the disk: ``roots`` are their folders by name."""

    def __init__(self, roots: Mapping[str, Path]) -> None:
        self._roots = dict(roots)

    def places(self) -> Sequence[Place]:
        """Every place as it is now."""
        return [_place(name, path) for name, path in self._roots.items()]

    def path(self, key: str) -> Path:
        """The folder with this key. Raises NotFound."""
        for name, root in self._roots.items():
            if folder_key(name, "") == key:
                if root.is_dir():
                    return root
                raise NotFound(f"{name}: is not there now; plug the drive in, then try again")
            for inside in _inside(root) or ():
                if folder_key(name, inside) == key:
                    return root / inside
        raise NotFound("that folder is not there any more; load the page again and choose anew")


def _place(name: str, root: Path) -> Place:
    inside = _inside(root)
    if inside is None:
        return Place(plain(name), False)
    folders = (
        Folder(folder_key(name, ""), ""),
        *(Folder(folder_key(name, item), plain(os.fsencode(item).decode("utf-8", "replace")))
          for item in inside[:MOST]),
    )  # fmt: skip
    return Place(plain(name), True, folders, max(0, len(inside) - MOST))


def _inside(root: Path) -> list[str] | None:
    """Names of the folders in ``root``, sorted; None when it cannot be read. Links are left out:
    they may lead anywhere."""
    try:
        with os.scandir(root) as found:
            return sorted(item.name for item in found if _is_folder(item))
    except OSError:
        return None


def _is_folder(item: os.DirEntry[str]) -> bool:
    try:
        return not item.name.startswith(".") and item.is_dir(follow_symlinks=False)
    except OSError:
        return False
