"""What a drive is called: serial numbers made alike, the register's id, the text of a label.

ATA and NVMe give a serial number as 20 printable ASCII characters (ATA/ATAPI Command Set,
IDENTIFY DEVICE words 10-19; NVMe Base Specification, Identify Controller bytes 4-23; from memory);
labels on drives add nothing to them but blanks.
"""

from __future__ import annotations

import hashlib
import re
from urllib.parse import parse_qsl, quote, urlencode

LONGEST = 60
"""Letters of a serial number; labels of cards are longer than 20 (own choice)."""
SOUND = re.compile(r"[0-9a-z][0-9a-z._+:#-]*")
LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""32 figures without I, L, O and U, which are misread (Crockford's Base32, from memory)."""
ID = re.compile(rf"D-[{LETTERS}]{{8}}")
SCHEME = "asfound-drive:1?"


def same_serial(serial: str) -> str:
    """The serial number as logs are named by it: small letters, no blanks. Any text is taken."""
    return "".join(serial.split()).casefold()


def serial_fault(serial: str) -> str:
    """Why this normalised serial number cannot be registered; "" when it can."""
    if not serial:
        return "it is empty"
    if len(serial) > LONGEST:
        return f"it has more than {LONGEST} letters"
    if not SOUND.fullmatch(serial):
        return "it may hold A-Z, 0-9 and . _ + : # - and begins with a letter or figure"
    return ""


def register_id(serial: str) -> str:
    """The register's id of a normalised serial number, like D-7K3M9Q2X: the first 40 bits of its
    SHA-256. The same on every computer, so that logs of several need no counter."""
    number = int.from_bytes(hashlib.sha256(serial.encode("utf-8")).digest()[:5])
    figures = [LETTERS[number >> (5 * place) & 31] for place in reversed(range(8))]
    return "D-" + "".join(figures)


def label_text(serial: str, spelled: str, fleet: str) -> str:
    """What the code on a label says: id, serial number, fleet; nobody's name (docs/drives.md)."""
    told = {"id": register_id(serial), "serial": spelled, "fleet": fleet}
    return SCHEME + urlencode(told, quote_via=quote)


def read_label(text: str) -> str:
    """The normalised serial number that a scanned label names; "" when it is no label of ours."""
    if not text.startswith(SCHEME):
        return ""
    told = dict(parse_qsl(text.removeprefix(SCHEME)))
    serial = same_serial(told.get("serial", ""))
    return serial if serial and told.get("id") == register_id(serial) else ""
