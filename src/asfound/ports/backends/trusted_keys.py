"""Public keys that are believed: a text file, a key a line with whose it is behind it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

from asfound.errors import InputError, NotFound
from asfound.ports.backends.disk import storage_error

MOST = 1 << 20
KEY = re.compile(r"([0-9a-f]{64})(?:[ \t]+(.*))?")


def trusted_keys(path: Path) -> Mapping[bytes, str]:
    """Key -> whose it is ("": not said). Empty lines and those that begin with # say nothing.

    Raises NotFound, StorageError, InputError (naming the line).
    """
    if not path.exists():
        raise NotFound(f"{path}: there is no such file; write a key a line into it")
    if path.is_dir():
        raise InputError(f"{path}: is a folder; name the file with the keys, one a line")
    try:
        with path.open("rb") as stream:
            data = stream.read(MOST + 1)
    except OSError as error:
        raise storage_error(error, path) from None
    if len(data) > MOST:
        raise InputError(f"{path}: holds more than {MOST} bytes; it is no list of keys")
    found: dict[bytes, str] = {}
    for number, line in enumerate(data.decode("utf-8", "replace").splitlines(), start=1):
        text = line.strip()
        if not text or text.startswith("#"):
            continue
        key = KEY.fullmatch(text)
        if key is None:
            raise InputError(
                f"{path}: line {number} does not begin with a key of 64 hexadecimal figures (small "
                "letters); `asfound bundle key` prints one"
            )
        found[bytes.fromhex(key[1])] = key[2] or ""
    return found
