"""The slip on a stick: what was put there, when and by whom, as a small JSON file."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import cast, get_args

from asfound.errors import InputError
from asfound.model.stick import Entry, EntryKind, Slip
from asfound.ports.stick import OURS

FORMAT = "asfound-stick-slip/2"
FIRST = "asfound-stick-slip/1"
"""Slips of before contents of other files were kept; still read."""
NAME = f"{OURS}/slip.json"
MOST_BYTES = 16 << 20
MOST_OTHERS = 20_000
SHA256 = re.compile(r"[0-9a-f]{64}")
KINDS = get_args(EntryKind)


def slip_bytes(slip: Slip) -> bytes:
    """The slip as UTF-8 JSON; names that are no text come as \\uDCxx."""
    others = slip.others
    data = {
        "format": FORMAT,
        "image": slip.image,
        "sha256": slip.sha256,
        "size": slip.size,
        "when": slip.when,
        "by": slip.by,
        "recorder": slip.recorder,
        "folder": slip.folder,
        "pattern": slip.pattern,
        "others": None if others is None else [_other(one) for one in others],
    }
    return (json.dumps(data, indent=1) + "\n").encode("ascii")


def _other(one: Entry) -> list[object]:
    return [one.path, one.kind, one.size, *([one.sha256] if one.sha256 else [])]


def read_slip(data: bytes) -> Slip:
    """The slip in ``data``. Raises InputError with one line."""
    try:
        found = json.loads(data.decode("utf-8"))
    except (ValueError, RecursionError):
        raise _wrong("it is no JSON") from None
    if not isinstance(found, dict):
        raise _wrong("it is no JSON object")
    if found.get("format") not in (FORMAT, FIRST):
        raise _wrong(f"its format is not {FORMAT}")
    names = ("image", "sha256", "when", "by", "recorder", "folder", "pattern")
    texts = {name: _text(found, name) for name in names}
    if not SHA256.fullmatch(texts["sha256"]):
        raise _wrong("sha256 is not 64 digits 0-9 a-f")
    return Slip(size=_size(found.get("size"), "size"), others=_others(found), **texts)


def _text(found: Mapping[str, object], name: str) -> str:
    value = found.get(name)
    if not isinstance(value, str):
        raise _wrong(f"{name} is missing or no text")
    return value


def _size(value: object, name: str) -> int:
    # A switch is a number to Python.
    if not isinstance(value, int) or isinstance(value, bool) or value < 0:
        raise _wrong(f"{name} is no number of bytes")
    return value


def _others(found: Mapping[str, object]) -> tuple[Entry, ...] | None:
    value = found.get("others")
    if value is None:
        return None
    if not isinstance(value, list):
        raise _wrong("others is no list")
    made = []
    for one in value:
        fair = isinstance(one, list) and len(one) in (3, 4) and isinstance(one[0], str)
        if not fair or one[1] not in KINDS:
            raise _wrong("others holds something else than [path, kind, size, sha256]")
        digest = one[3] if len(one) == 4 else ""
        if len(one) == 4 and not (isinstance(digest, str) and SHA256.fullmatch(digest)):
            raise _wrong("a sha256 in others is not 64 digits 0-9 a-f")
        size = _size(one[2], "a size in others")
        made.append(Entry(one[0], cast("EntryKind", one[1]), size, digest))
    return tuple(made)


def _wrong(what: str) -> InputError:
    return InputError(f"{NAME} on the stick: {what}; prepare the stick again")
