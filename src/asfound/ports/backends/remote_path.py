"""Paths of files in storage that fsspec opens: s3://bucket/folder and the like.

Jobs and decoders ask a path what they ask any: name, parents, size, bytes. What would need a
file of this machine, or would change something, is refused: such a path has no ``os.fspath``.
See docs/decisions/0010-remote-paths.md.
"""

from __future__ import annotations

import io
import os
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NoReturn
from urllib.parse import urlsplit
from urllib.request import url2pathname

from asfound.errors import UsageError
from asfound.ports.backends.remote_store import (
    Entry,
    Facts,
    RangeReader,
    ask,
    entries,
    mode,
    read,
)

if sys.platform == "win32":
    from pathlib import WindowsPath as _Local
else:
    from pathlib import PosixPath as _Local

URL = re.compile(r"([A-Za-z][A-Za-z0-9+.-]*)://(.*)", re.DOTALL)
"""RFC 3986 section 3.1."""

CHAIN = re.compile(r"[a-z0-9]+::.*://|.*::[a-z0-9]+://", re.DOTALL)
"""What fsspec calls URL chaining: one storage seen through another."""

KEPT = "\0"
"""Stands before a part that a path would drop: keys of object storage may have empty parts and
ones called "." or ".."."""


class RemotePath(_Local):
    """A path whose first part is the scheme with its colon. Make one with ``place``.

    What storage says of it is asked once, and again after pickling."""

    _known: Facts | None = None
    _listed: Facts | None = None

    def __str__(self) -> str:
        """The URL; a part of one as it is."""
        first, *rest = self.parts or ("",)
        bare = "/".join(part.removeprefix(KEPT) for part in rest)
        return f"{first}//{bare}" if first.endswith(":") else "/".join(filter(None, (first, bare)))

    def __reduce__(self) -> tuple[type[RemotePath], tuple[str, ...]]:
        return type(self), self.parts

    def __fspath__(self) -> NoReturn:
        raise TypeError(f"{self} is no file of this machine")

    def resolve(self, strict: bool = False) -> RemotePath:
        """Itself."""
        return self

    def absolute(self) -> RemotePath:
        """Itself."""
        return self

    def facts(self) -> Facts:
        """What was said of it first. Raises as remote_store.ask."""
        if self._known is None:
            self._known = ask(str(self))
        return self._known

    def facts_now(self) -> Facts:
        """What is said of it now: the first time by the listing it came from."""
        said, self._listed = self._listed, None
        return said or ask(str(self))

    def listed(self) -> Iterator[tuple[RemotePath, Facts]]:
        """What is in the folder, sorted. Raises as remote_store.ask."""
        for entry in entries(str(self)):
            yield self._child(entry), entry.facts

    def _child(self, entry: Entry) -> RemotePath:
        made: RemotePath = self / _part(entry.name)
        made._known = made._listed = entry.facts
        return made

    def has_name(self) -> bool:
        """False for a folder that no address leads into: s3://bucket//folder is its parent."""
        return bool(self.name.removeprefix(KEPT))

    def head(self, length: int) -> bytes:
        """The first bytes. Raises as remote_store.ask."""
        end = min(length, self.facts().size)
        return read(str(self), 0, end) if end else b""

    def stat(self, *, follow_symlinks: bool = True) -> os.stat_result:
        """Size, time of last change and type."""
        facts = self.facts()
        when = int(facts.changed)
        return os.stat_result((mode(facts), 0, 0, 1, 0, 0, facts.size, when, when, when))

    def exists(self, *, follow_symlinks: bool = True) -> bool:
        """Whether there is such a file or folder. Raises as remote_store.ask."""
        try:
            self.facts()
        except FileNotFoundError:
            return False
        return True

    def is_file(self, *, follow_symlinks: bool = True) -> bool:
        """Whether it is there and a file. Raises as remote_store.ask."""
        return self.exists() and not self.facts().is_folder

    def is_dir(self, *, follow_symlinks: bool = True) -> bool:
        """Whether it is there and a folder. Raises as remote_store.ask."""
        return self.exists() and self.facts().is_folder

    def is_symlink(self) -> bool:
        """There are none."""
        return False

    def open(self, mode: str = "rb", *_: Any, **__: Any) -> Any:
        """A RangeReader, buffered. Only reading bytes is possible."""
        if mode != "rb":
            raise UsageError(f"{self}: only read there; name a file of this machine to write to")
        return io.BufferedReader(RangeReader(str(self), self.facts()))

    def reader(self) -> RangeReader:
        """The file to read from, which says afterwards whether all of it could be had."""
        return RangeReader(str(self), self.facts(), quiet=True)


def place(text: str) -> Path:
    """The path that a person names: of this machine, or a URL. Raises UsageError for a URL
    that cannot work, without repeating a password in it."""
    if not text:
        raise UsageError("a path is empty; name a file or folder, or . for this folder")
    if CHAIN.match(text):
        raise UsageError(f"{text}: addresses in chains may copy files; name the storage itself")
    found = URL.fullmatch(text)
    if found is None:
        return Path(text)
    scheme, rest = found[1].lower(), found[2].rstrip("/")
    host = rest.partition("/")[0]
    user, at, _ = host.rpartition("@")
    if at and (":" in user or scheme in ("s3", "s3a")):
        raise UsageError(
            f"{scheme}://…: a password or key in an address would be seen in lists of processes "
            "and results; leave it out, docs/proof.md says where it may stand"
        )
    if scheme in ("http", "https") and "?" in rest:
        raise UsageError(f"{scheme}://{host}/…?…: a signed address holds its key; use s3:// or so")
    if scheme in ("file", "local"):
        return _of_file_url(text)
    if not rest:
        raise UsageError(f"{text}: names no bucket or folder; add one")
    return RemotePath(f"{scheme}:", *(_part(part) for part in rest.split("/")))


def _part(name: str) -> str:
    return KEPT + name if name in ("", ".", "..") or name.startswith(KEPT) else name


def _of_file_url(text: str) -> Path:
    """RFC 8089: an absolute path, percent-encoded, without a host or of this one."""
    made = urlsplit(text.replace("?", "%3F").replace("#", "%23"))
    if made.netloc not in ("", "localhost") or not made.path.startswith("/"):
        raise UsageError(f"{text}: a file of another machine; give file:///… or mount it")
    return Path(url2pathname(made.path))
