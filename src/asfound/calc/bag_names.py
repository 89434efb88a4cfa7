"""Names in a bag: which are sound, which stand for the same file somewhere, how they are written.

RFC 8493 2.1.3 (manifests: percent-encoded CR, LF and %), 5.1 (paths that lead out of the bag),
5.2.2 and 6.1 (case and normal forms differ between file systems).
"""

from __future__ import annotations

import re
import unicodedata

LINE = re.compile(r"([0-9A-Fa-f]+)[ \t]+\*?(\S.*)")
DRIVE = re.compile(r"[A-Za-z]:")


def name_fault(name: str) -> str:
    """Why a path inside a bag is refused; "" for a sound one."""
    if not name:
        return "an empty name"
    if name.startswith("/") or DRIVE.match(name):
        return "an absolute path"
    if name.startswith("~"):
        return "a path into somebody's home folder"
    if "\\" in name:
        return "a backslash, which some systems take for a folder"
    if any(part in ("", ".", "..") for part in name.split("/")):
        return "a path that leads elsewhere (., .. or an empty part)"
    if any(unicodedata.category(one) in ("Cc", "Cs") for one in name):
        return "a control character, or bytes that are not UTF-8"
    return ""


def same_key(name: str) -> str:
    """Equal for names that some file system takes for the same: other case, other normal form."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())


def twin_word(name: str, other: str) -> str:
    """How two names with the same ``same_key`` differ."""
    if unicodedata.normalize("NFC", name) == unicodedata.normalize("NFC", other):
        return "in the Unicode normal form alone"
    return "in case alone"


def written(name: str) -> str:
    """A name as a manifest writes it."""
    return name.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def parse_line(line: str, percent: bool) -> tuple[str, str] | None:
    """Checksum in small letters and name of a manifest's line; None: it is no such line.

    ``percent``: %25 is %, as from version 1.0 on; line ends were encoded before, too.
    """
    found = LINE.fullmatch(line)
    if found is None:
        return None
    name = re.sub("%0[Aa]", "\n", re.sub("%0[Dd]", "\r", found[2]))
    return found[1].lower(), name.replace("%25", "%") if percent else name
