"""PDF: compile a document template with its data."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Protocol


class PdfMaker(Protocol):
    """Compiles a template to PDF/A."""

    def compile(
        self,
        template: str,
        data: Mapping[str, object],
        files: Mapping[str, bytes],
        at: datetime,
    ) -> bytes:
        """PDF bytes; the same arguments give the same bytes.

        ``template`` is a file name in asfound/data; ``data`` (JSON-able) reaches it as
        data.json, and no text in it is ever taken for markup; ``files`` are pictures by the
        name the template uses; ``at`` (aware) is written as the document's date.
        Raises MissingPart, InputError, StorageError.
        """
        ...

    def page_pictures(
        self,
        template: str,
        data: Mapping[str, object],
        files: Mapping[str, bytes],
        at: datetime,
        dots: int = 110,
    ) -> tuple[bytes, ...]:
        """The pages of the same document as PNG pictures, ``dots`` per inch, to look at on a
        screen. Raises as ``compile``."""
        ...
