"""Names that FAT and exFAT take as they are, and which of them are the same to them.

Sources, from memory: Microsoft, "FAT32 File System Specification" 1.03 (2000), long names: at most
255 UTF-16 units, trailing dots and blanks dropped, compared without regard to case; Microsoft,
"exFAT file system specification", 7.7.3: characters that no name may hold; Microsoft, "Naming
Files, Paths, and Namespaces": names of devices.
"""

from __future__ import annotations

import re
from fnmatch import translate

FORBIDDEN = '"*/:<>?\\|'
LONGEST = 255
"""UTF-16 units of a long name."""
DEVICES = frozenset(
    {"CON", "PRN", "AUX", "NUL"} | {f"{port}{n}" for port in ("COM", "LPT") for n in "123456789¹²³"}
)
SHORT = re.compile(r"[A-Za-z0-9!#$%&'()@^_`{}~-]{1,8}(\.[A-Za-z0-9!#$%&'()@^_`{}~-]{1,3})?")
"""Eight letters, a dot and three: all that FAT without long names takes."""


def name_fault(name: str, short: bool = False) -> str:
    """Why FAT or exFAT would not keep ``name`` exactly; "": it does. ``short``: 8.3 only."""
    if name in ("", ".", ".."):
        return "is no name of a file"
    bad = sorted({sign for sign in name if sign in FORBIDDEN or ord(sign) < 32 or sign == "\x7f"})
    if bad:
        return f"holds {' '.join(map(ascii, bad))}, which FAT and exFAT do not take"
    if any(0xD800 <= ord(sign) < 0xE000 for sign in name):
        return "holds bytes that are no text"
    if name[-1] in ". " or name[0] == " ":
        return "begins with a blank, or ends with a blank or a dot, which would be dropped"
    if len(name.encode("utf-16-le")) // 2 > LONGEST:
        return f"is longer than {LONGEST} characters"
    if name.split(".")[0].rstrip(" ").upper() in DEVICES:
        return "is the name of a device on some computers"
    if short and not SHORT.fullmatch(name):
        return "does not fit into eight letters, a dot and three, all that this stick takes"
    return ""


def path_fault(path: str, short: bool = False) -> str:
    """The first fault of a path's parts, joined by "/"; "": none, also for the top itself."""
    for part in path.split("/") if path else ():
        if fault := name_fault(part, short):
            return f"{part!a} {fault}"
    return ""


def same_key(name: str) -> str:
    """Equal for names that FAT and exFAT take for the same: upper case, a character at a time."""
    # Whole-string case folding would make one name of "ß" and "ss", which FAT keeps apart.
    return "".join(up if len(up := sign.upper()) == 1 else sign for sign in name)


def fits(name: str, pattern: str) -> bool:
    """Whether a recorder that looks for ``pattern`` (* and ?) on FAT would take ``name``."""
    return (
        re.fullmatch(translate(same_key(pattern).replace("[", "[[]")), same_key(name)) is not None
    )


def joined(folder: str, name: str) -> str:
    """Path of ``name`` in ``folder`` ("": the top)."""
    return f"{folder}/{name}" if folder else name


def split(path: str) -> tuple[str, str]:
    """Folder and name of a path."""
    folder, _, name = path.rpartition("/")
    return folder, name
