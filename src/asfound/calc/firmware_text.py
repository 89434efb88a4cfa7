"""A firmware catalogue as TOML (``asfound-firmware/1``). Names hold no control characters."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator

from asfound.model.firmware import Image


def catalogue_text(orders: Iterable[tuple[str, str]], images: Iterable[Image]) -> str:
    """The file, with (recorder model, order) first; a basic string of TOML 1.0 is written as JSON
    writes one."""
    lines = ['format = "asfound-firmware/1"']
    for map_id, order in orders:
        lines.extend(("", "[[model]]", f"map = {_text(map_id)}", f"order = {_text(order)}"))
    for image in images:
        lines.extend(("", "[[image]]", *_image(image)))
    return "\n".join(lines) + "\n"


def _image(image: Image) -> Iterator[str]:
    yield f"map = {_text(image.map_id)}"
    yield f"hardware = {_list(image.hardware)}"
    yield f"version = {_text(image.version)}"
    yield f"file = {_text(image.file)}"
    yield f"size = {image.size}"
    yield f"sha256 = {_text(image.sha256)}"
    for key, text in (("notes", image.notes), ("needs", image.needs), ("floor", image.floor)):
        if text:
            yield f"{key} = {_text(text)}"
    for key, many in (("stones", image.stones), ("not_over", image.not_over)):
        if many:
            yield f"{key} = {_list(many)}"


def _text(text: str) -> str:
    # JSON leaves DEL as it is, TOML wants it escaped.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _list(texts: Iterable[str]) -> str:
    return f"[{', '.join(map(_text, texts))}]"
