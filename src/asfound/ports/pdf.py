"""PDF: compile a document template with its data."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol


class PdfMaker(Protocol):
    """Compiles a template to PDF/A."""

    def compile(
        self, template: str, data: Mapping[str, object], files: Mapping[str, bytes]
    ) -> bytes:
        """PDF bytes. ``template`` is a file name in asfound/data; ``data`` reaches it as JSON;
        ``files`` are pictures by the name the template uses. Raises MissingPart, InputError."""
        ...
