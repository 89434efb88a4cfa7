"""Uploads as folders: ``root/VISIT/UPLOAD/upload.json`` and, beside it, ``bytes``.

Both folders are named by hashes: nothing that a request says becomes part of a path. Bytes are
flushed to the disk before the new offset is told; a process killed in between leaves more bytes
than were told, never fewer, and the whole file is held against its hash in the end.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
import threading
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from asfound.errors import InputError, NotFound
from asfound.model.upload import Upload
from asfound.ports.backends.disk import storage_error
from asfound.ports.documents import from_json, to_json

_CARD, _BYTES, _LINK, _SHOWN = "upload.json", "bytes", "clip", "recordings"


class FileUploads:
    """Uploads below ``root``. Nothing is created before the first ``save``."""

    def __init__(self, root: Path) -> None:
        self._root = root
        self._lock = threading.Lock()

    def save(self, upload: Upload) -> None:
        """Write what is known of an upload, whole or not at all. Raises StorageError."""
        folder = self._folder(upload.visit, upload.id)
        try:
            folder.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=folder, prefix="card-")
            part = Path(name)
            try:
                with os.fdopen(handle, "wb") as stream:
                    stream.write(to_json(replace(upload, received=0)).encode("utf-8"))
                    stream.flush()
                    os.fsync(stream.fileno())
                part.replace(folder / _CARD)
            except OSError:
                part.unlink(missing_ok=True)
                raise
        except OSError as error:
            raise storage_error(error, folder) from None

    def find(self, visit: str, upload_id: str) -> Upload | None:
        """The upload with as many bytes as are here. Raises StorageError."""
        return _known(self._folder(visit, upload_id))

    def of(self, visit: str) -> Sequence[Upload]:
        """Every upload of a visit, oldest first. Raises StorageError."""
        found = [_known(folder) for folder in _folders(self._visit_folder(visit))]
        return sorted((item for item in found if item), key=lambda item: (item.at, item.id))

    def append(self, upload: Upload, offset: int, data: bytes) -> int | None:
        """Add ``data`` at ``offset``, durably. Raises StorageError."""
        path = self._folder(upload.visit, upload.id) / _BYTES
        try:
            with self._lock, path.open("ab") as stream:
                if stream.tell() != offset:
                    return None
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
                return stream.tell()
        except OSError as error:
            raise storage_error(error, path) from None

    def path(self, upload: Upload, suffix: str = "") -> Path:
        """Where the bytes lie; with ``suffix`` under a second name. Raises NotFound,
        StorageError."""
        path = self._folder(upload.visit, upload.id) / _BYTES
        if not path.is_file():
            raise NotFound("the bytes of this upload are not here any more; send it again")
        if not suffix:
            return path
        link = path.with_name(_LINK + suffix)
        try:
            if not link.exists():
                _second_name(path, link)
        except OSError as error:
            raise storage_error(error, link) from None
        return link

    def folder(self, uploads: Mapping[str, Upload]) -> Path:
        """A folder with these uploads' bytes under these names. Raises NotFound, StorageError."""
        visits = {item.visit for item in uploads.values()}
        if len(visits) != 1 or any(Path(name).name != name for name in uploads):
            raise ValueError("uploads of one visit, under plain names")
        shown = self._visit_folder(visits.pop()) / _SHOWN
        paths = {name: self.path(item) for name, item in uploads.items()}
        try:
            shutil.rmtree(shown, ignore_errors=True)
            shown.mkdir()
            for name, path in paths.items():
                _second_name(path, shown / name)
        except OSError as error:
            raise storage_error(error, shown) from None
        return shown

    def forget(self, upload: Upload) -> None:
        """Delete all of an upload, under its second name, too. Raises StorageError."""
        folder = self._folder(upload.visit, upload.id)
        shown = self._visit_folder(upload.visit) / _SHOWN
        try:
            # Other recordings get their names back when they are next looked at.
            for path in (folder, shown):
                if path.is_dir():
                    shutil.rmtree(path)
        except FileNotFoundError:
            return
        except OSError as error:
            raise storage_error(error, folder) from None

    def clear(self, upload: Upload) -> None:
        """Delete the bytes. Raises StorageError."""
        folder = self._folder(upload.visit, upload.id)
        try:
            with self._lock:
                for path in list(folder.iterdir()) if folder.is_dir() else []:
                    if path.name != _CARD:
                        path.unlink(missing_ok=True)
        except OSError as error:
            raise storage_error(error, folder) from None

    def waiting(self) -> Sequence[str]:
        """Visits with uploads that wait to be read. Raises StorageError."""
        return sorted({item.visit for item in self._all() if item.state == "waiting"})

    def tidy(self, before: datetime) -> int:
        """Forget what broke off or was read before then. Raises StorageError."""
        gone = [item for item in self._all() if item.at < before and item.state != "waiting"]
        for item in gone:
            self.forget(item)
        return len(gone)

    def _all(self) -> Iterator[Upload]:
        for visit in _folders(self._root):
            for folder in _folders(visit):
                known = _known(folder)
                if known is not None:
                    yield known

    def _visit_folder(self, visit: str) -> Path:
        return self._root / _hashed(visit)

    def _folder(self, visit: str, upload_id: str) -> Path:
        return self._visit_folder(visit) / _hashed(upload_id)


def _hashed(name: str) -> str:
    return hashlib.sha256(name.encode("utf-8", "replace")).hexdigest()[:32]


def _folders(root: Path) -> list[Path]:
    try:
        return sorted(path for path in root.iterdir() if path.is_dir())
    except FileNotFoundError:
        return []
    except OSError as error:
        raise storage_error(error, root) from None


def _known(folder: Path) -> Upload | None:
    """What the folder's card says; None without one that can be used: it is sent again then."""
    try:
        card = from_json(Upload, (folder / _CARD).read_bytes(), str(folder / _CARD))
        return replace(card, received=_size(folder / _BYTES))
    except (FileNotFoundError, InputError):
        return None
    except OSError as error:
        raise storage_error(error, folder) from None


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return 0


def _second_name(path: Path, link: Path) -> None:
    try:
        os.link(path, link)
    except OSError:
        # A disk without hard links.
        shutil.copyfile(path, link)
