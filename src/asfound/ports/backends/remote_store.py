"""Storage that is no folder of this machine, through fsspec: asked, listed, read by range.

Nothing is ever written. Whoever may read is told by the storage's own ways (environment,
profile, the machine's role); no credentials pass through here, and no text of an error of
theirs is passed on, for it may hold addresses with passwords in them.
"""

from __future__ import annotations

import io
import stat
from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from importlib import import_module
from typing import Any, TypeVar

from asfound.errors import (
    AsfoundError,
    MissingPart,
    NotFound,
    RecordingError,
    StorageError,
    UsageError,
)

T = TypeVar("T")

BLOCK_BYTES = 1 << 20
"""What is read at once: a request of its own costs as much time as some hundred kilobytes."""

BLOCKS = 64
"""Blocks that a process holds, of all files together."""

LOGIN = frozenset(
    {"ExpiredToken", "InvalidAccessKeyId", "InvalidToken", "RequestTimeTooSkewed"}
    | {"SignatureDoesNotMatch", "InvalidSecurity", "TokenRefreshRequired", "NotSignedUp"}
    | {"NoCredentialsError", "PartialCredentialsError", "ProfileNotFound"}
    | {"CredentialRetrievalError", "TokenRetrievalError", "UnauthorizedSSOTokenError"}
)
"""What is wrong with who asks, not with one file: codes of Amazon S3's REST interface (API
Reference, "Error responses") and classes of botocore.exceptions."""


@dataclass(frozen=True, slots=True)
class Facts:
    """What storage says of a file or folder: bytes, time of last change [s since 1970] (0.0 =
    not said), and a tag that another content would not have ("" = none is kept)."""

    is_folder: bool
    size: int
    changed: float = 0.0
    tag: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """One name in a folder."""

    name: str
    facts: Facts


def ask(url: str) -> Facts:
    """Facts as they are now. Raises FileNotFoundError, and AsfoundErrors: RecordingError (may
    not be read), StorageError (does not answer, or does not know who asks), MissingPart."""

    def work() -> Facts:
        system, path = _system(url)
        return _facts(system.info(path))

    return _said(url, work)


def entries(url: str) -> Iterator[Entry]:
    """What is in a folder, sorted by name, folders and files mixed. Raises as ``ask``."""

    def work() -> list[Entry]:
        system, path = _system(url)
        above = path.strip("/") + "/"
        found = []
        for info in system.ls(path, detail=True):
            name = str(info["name"]).lstrip("/").removeprefix(above.lstrip("/"))
            folder = info["type"] == "directory"
            # Object storage may hold an object that is called as the folder itself.
            if name or folder:
                found.append(Entry(name.rstrip("/"), _facts(info)))
        return sorted(found, key=lambda entry: (entry.name, entry.facts.is_folder))

    return iter(_said(url, work))


def read(url: str, start: int, end: int) -> bytes:
    """Bytes from ``start`` up to ``end``. Raises as ``ask``."""

    def work() -> bytes:
        system, path = _system(url)
        return bytes(system.cat_file(path, start=start, end=end))

    return _said(url, work)


def _system(url: str) -> tuple[Any, str]:
    """fsspec's file system and the path in it; listings are asked for anew each time.

    Not by ``url_to_fs``, which takes "::" in a name for a chain of addresses."""
    fsspec, scheme = _fsspec(), url.partition(":")[0]
    if scheme not in fsspec.available_protocols():
        raise UsageError(f"{url}: no storage is known by that name; s3:// is one, file:// another")
    kind = fsspec.get_filesystem_class(scheme)
    system = fsspec.filesystem(scheme, use_listings_cache=False, **kind._get_kwargs_from_urls(url))
    return system, str(kind._strip_protocol(url))


@cache
def _fsspec() -> Any:
    return import_module("fsspec")


def _facts(info: Mapping[str, Any]) -> Facts:
    changed = info.get("LastModified") or info.get("mtime") or info.get("created") or 0.0
    if isinstance(changed, datetime):
        changed = changed.timestamp()
    tag = str(info.get("ETag") or info.get("etag") or "")
    return Facts(
        info["type"] == "directory",
        int(info.get("size") or 0),
        changed if isinstance(changed, float | int) else 0.0,
        tag,
    )


def _said(url: str, work: Callable[[], T]) -> T:
    """What ``work`` gives; what goes wrong in one line of ours."""
    try:
        return work()
    except (AsfoundError, FileNotFoundError, MemoryError):
        raise
    except Exception as error:
        _forget(url)
        raise fault(error, url) from None


def _forget(url: str) -> None:
    """Drops the connection that failed, which fsspec keeps with the address and login of its first
    use: whoever mends them is heard by a program that goes on."""
    with suppress(Exception):
        _fsspec().get_filesystem_class(url.partition(":")[0]).clear_instance_cache()


def fault(error: Exception, url: str) -> AsfoundError:
    """The error that says it, without a word of the original's."""
    scheme = url.partition(":")[0]
    names = {type(one).__name__ for one in _chain(error)} | {
        str(response.get("Error", {}).get("Code", ""))
        for one in _chain(error)
        if isinstance(response := getattr(one, "response", None), Mapping)
    }
    if isinstance(error, ImportError):
        own = error.name == "fsspec" or scheme in ("s3", "s3a")
        extra = "pip install 'asfound[s3]'" if own else "see fsspec's guide"
        return MissingPart(f"{url}: the part that reads {scheme}:// is not installed; {extra}")
    if names & LOGIN:
        return StorageError(
            f"{url}: the storage does not know who asks ({min(names & LOGIN)}); set AWS_PROFILE, "
            "or what your storage takes instead (docs/proof.md)"
        )
    if isinstance(error, PermissionError):
        return RecordingError(f"{url}: may not be read with the credentials at hand")
    return StorageError(
        f"{url}: the storage gives no answer that can be used ({type(error).__name__}); check "
        "address and network, and run this again: what was finished is kept"
    )


def _chain(error: BaseException) -> Iterator[BaseException]:
    """The error and what it came from."""
    at: BaseException | None = error
    for _ in range(8):
        if at is None:
            return
        yield at
        at = at.__cause__ or at.__context__


class Blocks:
    """The blocks read last, of all files: what one look needs twice is fetched once."""

    def __init__(self, most: int = BLOCKS) -> None:
        self._held: OrderedDict[tuple[str, str, int], bytes] = OrderedDict()
        self._most = most

    def get(self, url: str, facts: Facts, number: int) -> bytes:
        """Block ``number`` of a file. Raises as ``ask``."""
        key = (url, f"{facts.size} {facts.changed} {facts.tag}", number)
        block = self._held.pop(key, None)
        if block is None:
            start = number * BLOCK_BYTES
            block = read(url, start, min(start + BLOCK_BYTES, facts.size))
        self._held[key] = block
        while len(self._held) > self._most:
            self._held.popitem(last=False)
        return block


_blocks = Blocks()


class RangeReader(io.RawIOBase):
    """A file that can be read from anywhere, by blocks that are fetched when they are needed.

    Where a block cannot be had, a ``quiet`` one ends, since decoders swallow errors, and
    ``check`` says why; any other raises.
    """

    def __init__(
        self, url: str, facts: Facts, quiet: bool = False, blocks: Blocks | None = None
    ) -> None:
        self.name = url.rpartition("/")[2]
        self._url = url
        self._facts = facts
        self._quiet = quiet
        self._blocks = blocks or _blocks
        self._at = 0
        self._fault: Exception | None = None

    def check(self) -> None:
        """Raises NotFound, RecordingError or StorageError when a block could not be had."""
        if isinstance(self._fault, FileNotFoundError):
            raise NotFound(f"{self._url}: has gone while it was read") from None
        if self._fault is not None:
            raise self._fault

    def readable(self) -> bool:
        """It is."""
        return True

    def seekable(self) -> bool:
        """It is."""
        return True

    def tell(self) -> int:
        """Where the next byte comes from."""
        return self._at

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        """Go somewhere else. Raises ValueError before the start."""
        base = {io.SEEK_SET: 0, io.SEEK_CUR: self._at, io.SEEK_END: self._facts.size}[whence]
        if base + offset < 0:
            raise ValueError(f"there is nothing at {base + offset}")
        self._at = base + offset
        return self._at

    def readinto(self, into: Any) -> int:
        """Up to the end of a block."""
        view = memoryview(into).cast("B")
        if self._fault is not None or not len(view) or self._at >= self._facts.size:
            return 0
        number, start = divmod(self._at, BLOCK_BYTES)
        try:
            block = self._blocks.get(self._url, self._facts, number)
        except (AsfoundError, FileNotFoundError) as error:
            self._fault = error
            if not self._quiet:
                self.check()
            return 0
        part = block[start : start + len(view)]
        view[: len(part)] = part
        self._at += len(part)
        return len(part)


def mode(facts: Facts) -> int:
    """File type and permissions as stat() has them: nothing may be written."""
    return (stat.S_IFDIR | 0o555) if facts.is_folder else (stat.S_IFREG | 0o444)
