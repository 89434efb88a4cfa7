"""A vehicle's number as one part of an address, and back.

Letters, figures, - and _ stand for themselves; every other byte of its UTF-8 is ``~`` and two
hexadecimal figures: ``B/12`` is ``B~2F12``. A percent sign would not do: servers undo it before
they look for slashes.
"""

from __future__ import annotations

import re

from asfound.errors import NotFound

_PLAIN = frozenset(b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_")
_SLUG = re.compile(r"(?:[A-Za-z0-9_-]|~[0-9A-F]{2})+")


def slug(text: str) -> str:
    """``text`` as one part of an address."""
    data = text.encode("utf-8", "surrogatepass")
    return "".join(chr(byte) if byte in _PLAIN else f"~{byte:02X}" for byte in data)


def unslug(part: str) -> str:
    """The text that a part of an address stands for. Raises NotFound when it is none of ours."""
    if _SLUG.fullmatch(part):
        pairs = re.findall(r"~([0-9A-F]{2})|([A-Za-z0-9_-])", part)
        try:
            return bytes(int(code, 16) if code else ord(char) for code, char in pairs).decode()
        except UnicodeDecodeError:
            pass
    raise NotFound("there is no such address; begin with the list")
