"""Files on their way from a phone: durable piece by piece, so that any break can be resumed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Protocol

from asfound.model.upload import Upload


class Uploads(Protocol):
    """Uploads by visit and id. What a call has written is durable when it returns."""

    def save(self, upload: Upload) -> None:
        """Write what is known of an upload; its bytes stay as they are. Raises StorageError."""
        ...

    def find(self, visit: str, upload_id: str) -> Upload | None:
        """The upload, ``received`` as many bytes as are here; None when it is not known.
        Raises StorageError."""
        ...

    def of(self, visit: str) -> Sequence[Upload]:
        """Every upload of a visit, oldest first. Raises StorageError."""
        ...

    def append(self, upload: Upload, offset: int, data: bytes) -> int | None:
        """Add ``data`` when exactly ``offset`` bytes are here, and return how many are now; None
        when there is another number of bytes, and nothing was added. Raises StorageError."""
        ...

    def path(self, upload: Upload, suffix: str = "") -> Path:
        """Where the bytes lie, under a name that ends in ``suffix`` (ours, never the phone's).
        Raises NotFound, StorageError."""
        ...

    def folder(self, uploads: Mapping[str, Upload]) -> Path:
        """A folder with the bytes of uploads of one visit under these names (ours, never the
        phone's), and nothing else. Raises NotFound, StorageError."""
        ...

    def forget(self, upload: Upload) -> None:
        """Delete the bytes and what is known of the upload. Raises StorageError."""
        ...

    def clear(self, upload: Upload) -> None:
        """Delete the bytes; what is known of the upload stays. Raises StorageError."""
        ...

    def waiting(self) -> Sequence[str]:
        """Visits with uploads that wait to be read. Raises StorageError."""
        ...

    def tidy(self, before: datetime) -> int:
        """Forget uploads that broke off before then and those read before then; how many.
        Raises StorageError."""
        ...
