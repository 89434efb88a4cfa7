"""What a bag (RFC 8493) is found to be: whole, or what is wrong with which entry."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class BagFaultKind(StrEnum):
    """What can be wrong with a bag."""

    CHANGED = "changed"
    TRUNCATED = "truncated"
    ADDED = "added"
    MISSING = "missing"
    RENAMED = "renamed"
    NAME = "name"
    TWIN = "twin"
    LINK = "link"
    DEVICE = "device"
    DUPLICATE = "duplicate"
    OXUM = "oxum"
    MANIFEST = "manifest"
    VERSION = "version"
    ENCODING = "encoding"
    KEY = "key"
    SIGNATURE = "signature"
    FETCH = "fetch"
    UNREADABLE = "unreadable"


@dataclass(frozen=True, slots=True)
class BagFault:
    """One thing that is wrong, the entry it is about ("": the bag as a whole), and why."""

    kind: BagFaultKind
    path: str
    note: str


@dataclass(frozen=True, slots=True)
class BagVerified:
    """``files`` and ``size`` [bytes] of the payload that is there. ``signed_by``: the public key
    in hexadecimal figures whose signature holds, or ""; ``known_key``: it is the one asked for."""

    version: str
    files: int
    size: int
    signed_by: str
    known_key: bool
    faults: tuple[BagFault, ...]
