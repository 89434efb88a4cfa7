"""PDF/A-2a by Typst, whose Python package carries the compiler.

The same arguments give the same bytes on every machine: fonts come from Python packages and
from the compiler itself, never from the system, and the date is handed in. Each document is
compiled in a temporary folder that holds the templates, data.json and the pictures; Typst
cannot read outside it, and no package is fetched.
"""

from __future__ import annotations

import importlib
import importlib.util
import json
import re
import shutil
import tempfile
import unicodedata
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import lru_cache
from importlib.resources import files as package_files
from pathlib import Path
from typing import Any

from asfound.errors import InputError, MissingPart

STANDARD = "a-2a"
"""ISO 19005-2, level A: kept for the long term, tagged, all text as Unicode."""

FONT_PACKAGE = "font_source_sans_pro"
FONTS = (
    "SourceSansPro-Regular.ttf",
    "SourceSansPro-It.ttf",
    "SourceSansPro-Semibold.ttf",
    "SourceSansPro-Bold.ttf",
)
"""The body face. Values and hashes use DejaVu Sans Mono, which Typst carries."""

_PICTURE_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]*\.(?:jpg|png|svg)")
_PLACE = re.compile(r"[a-z_]+\.typ:[0-9]+:[0-9]+")
_PLAIN = re.compile(r"[\n -~\u00a0-\u00ac\u00ae-\u017f\u0391-\u03a1\u03a3-\u03c9\u0410-\u044f]*")
"""Text that the body face is known to have: Latin, Greek and Russian letters."""


class TypstPdf:
    """Compiles the templates in asfound/data."""

    def compile(
        self,
        template: str,
        data: Mapping[str, object],
        files: Mapping[str, bytes],
        at: datetime,
    ) -> bytes:
        """PDF/A bytes. Raises MissingPart (compiler or font), InputError (picture, template)."""
        with _laid_out(template, data, files) as root:
            return bytes(_run(root, template, at, format="pdf", pdf_standards=STANDARD))

    def page_pictures(
        self,
        template: str,
        data: Mapping[str, object],
        files: Mapping[str, bytes],
        at: datetime,
        dots: int = 110,
    ) -> tuple[bytes, ...]:
        """The pages as PNG pictures. Raises as ``compile``."""
        with _laid_out(template, data, files) as root:
            made = _run(root, template, at, format="png", ppi=dots)
        # A document of one page comes as it is, one of several as a list.
        pages = made if isinstance(made, list) else [made]
        return tuple(bytes(page) for page in pages)


@contextmanager
def _laid_out(
    template: str, data: Mapping[str, object], files: Mapping[str, bytes]
) -> Iterator[Path]:
    """A temporary folder with templates, data and pictures. Raises InputError."""
    shipped = Path(str(package_files("asfound") / "data"))
    if not (shipped / template).is_file():
        raise InputError(f"{template}: no such document template; install asfound again")
    for name in files:
        if not _PICTURE_NAME.fullmatch(name):
            raise InputError(f"{name!r} is no picture name for a document; use name.jpg")
    with tempfile.TemporaryDirectory(prefix="asfound-pdf-") as folder:
        root = Path(folder)
        for source in sorted(shipped.glob("*.typ")):
            shutil.copyfile(source, root / source.name)
        for name, content in files.items():
            (root / name).write_bytes(content)
        text = json.dumps(printable(data), ensure_ascii=True, allow_nan=False)
        (root / "data.json").write_text(text, encoding="ascii")
        yield root


def printable(value: object) -> Any:
    """``value`` with every character that no font can show written as ⟨U+XXXX⟩.

    Invisible control and direction characters are written out too: a name that prints
    differently from what it is must not go unseen. PDF/A forbids missing glyphs.
    """
    if isinstance(value, str):
        return _printable_text(value)
    if isinstance(value, Mapping):
        return {str(key): printable(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [printable(item) for item in value]
    return value


def _printable_text(text: str) -> str:
    if _PLAIN.fullmatch(text):
        return text
    composed = unicodedata.normalize("NFC", text)
    return "".join(
        char if _PLAIN.fullmatch(char) or _has_glyph(char) else f"⟨U+{ord(char):04X}⟩"
        for char in composed
    )


@lru_cache(maxsize=4096)
def _has_glyph(char: str) -> bool:
    """True when Typst can set this one character in PDF/A."""
    if unicodedata.category(char) in ("Cc", "Cf", "Cn", "Co", "Cs", "Zl", "Zp"):
        return False
    typst = _typst()
    source = '#set text(font: ("Source Sans Pro", "DejaVu Sans Mono"))\n#sys.inputs.c'
    with tempfile.TemporaryDirectory(prefix="asfound-pdf-") as folder:
        root = Path(folder)
        (root / "probe.typ").write_text(source, encoding="utf-8")
        compiler = _compiler(typst, root, "probe.typ", {"c": char})
        try:
            compiler.compile(format="pdf", pdf_standards=STANDARD, timestamp=0)
        except typst.TypstError:
            return False
    return True


def _run(root: Path, template: str, at: datetime, **how: Any) -> Any:
    typst = _typst()
    compiler = _compiler(typst, root, template, {})
    # Whole seconds: a PDF date carries no fractions.
    moment = int(at.astimezone(UTC).timestamp())
    try:
        made, notes = compiler.compile_with_warnings(timestamp=moment, **how)
    except typst.TypstError as error:
        place = _PLACE.search(error.diagnostic or "")
        where = place.group() if place else template
        reason = " ".join(str(error).split())
        raise InputError(f"{where}: {reason}; the document was not made") from None
    for note in notes:
        warnings.warn(f"{template}: {note.message}", RuntimeWarning, stacklevel=3)
    return made


def _compiler(typst: Any, root: Path, template: str, inputs: dict[str, str]) -> Any:
    # The package holds each face twice (OTF and TTF): which one a folder scan meets first
    # would depend on the disk, so the wanted files get a folder of their own.
    folder = root / "fonts"
    folder.mkdir(exist_ok=True)
    for path in _fonts():
        shutil.copyfile(path, folder / path.name)
    fonts = typst.Fonts(include_system_fonts=False, font_paths=[str(folder)])
    return typst.Compiler(
        str(root / template),
        root=str(root),
        font_paths=fonts,
        ignore_system_fonts=True,
        sys_inputs=inputs,
        package_path=str(root / "packages"),
        package_cache_path=str(root / "packages"),
    )


def _typst() -> Any:
    try:
        return importlib.import_module("typst")
    except ImportError as error:
        raise MissingPart(
            f"documents need the Python package typst ({error}); `pip install typst`"
        ) from None


def _fonts() -> list[Path]:
    spec = importlib.util.find_spec(FONT_PACKAGE)
    places = list(spec.submodule_search_locations or ()) if spec else []
    found = [Path(place) / "files" / name for place in places for name in FONTS]
    if not found or not all(path.is_file() for path in found):
        raise MissingPart(
            "documents need the Python package font-source-sans-pro; "
            "`pip install font-source-sans-pro`"
        )
    return found
