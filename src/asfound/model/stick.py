"""A USB stick with one firmware image on it: what is there, what was found, what was done."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal

FAT_KINDS = ("vfat", "msdos")
"""What Linux calls FAT with long names, and FAT with short ones only."""
USUAL_KINDS = (*FAT_KINDS, "exfat")
FAT_MOST = 4_294_967_295
"""Bytes of the largest file of FAT32, 4 GiB - 1: its length is kept in 32 bits (Microsoft, FAT32
File System Specification 1.03, 2000, directory entry; from memory)."""

EntryKind = Literal["file", "folder", "link", "other"]


@dataclass(frozen=True, slots=True)
class StickFacts:
    """A mounted file system. ``kind``: as the system calls it; ``total``, ``free`` and ``block``
    in bytes; ``system``: the computer runs from its disk."""

    kind: str
    device: str
    total: int
    free: int
    block: int = 4096
    read_only: bool = False
    system: bool = False


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing on the stick; ``path`` from its top, parts joined by "/"; ``size`` in bytes;
    ``sha256`` of what it holds where somebody read it, else ""."""

    path: str
    kind: EntryKind
    size: int = 0
    sha256: str = field(default="", compare=False)


class StickFault(StrEnum):
    """What can be wrong with a stick."""

    OTHER_IMAGE = "other-image"
    NAME_CLASH = "name-clash"
    FILE_SYSTEM = "file-system"
    CAPACITY = "capacity"
    CAPACITY_UNSURE = "capacity-unsure"
    READ_BACK_UNSURE = "read-back-unsure"
    NO_SLIP = "no-slip"
    SLIP_DISAGREES = "slip-disagrees"
    IMAGE_MISSING = "image-missing"
    IMAGE_CHANGED = "image-changed"
    INTERRUPTED = "interrupted"
    GONE = "gone"
    RESIZED = "resized"
    ALTERED = "altered"
    UNKNOWN_IMAGE = "unknown-image"
    LOOK_AT = "look-at"
    NOT_LISTED = "not-listed"


@dataclass(frozen=True, slots=True)
class StickFinding:
    """One fault: ``path`` on the stick ("": the stick itself) and a sentence."""

    kind: StickFault
    path: str
    note: str


class StickVerdict(StrEnum):
    """``prepared`` and ``blocked`` of a preparation, the others of a check afterwards."""

    PREPARED = "prepared"
    BLOCKED = "blocked"
    UNCHANGED = "unchanged"
    CHANGED = "changed"
    COULD_NOT_TELL = "could-not-tell"


@dataclass(frozen=True, slots=True)
class Slip:
    """What was put on a stick. ``image``: its path there; ``size`` in bytes; ``when``: UTC,
    ISO 8601; ``folder`` and ``pattern``: where the recorder looks; ``others``: what else was
    there (None: too much to list)."""

    image: str
    sha256: str
    size: int
    when: str
    by: str
    recorder: str
    folder: str
    pattern: str
    others: tuple[Entry, ...] | None


@dataclass(frozen=True, slots=True)
class StickPrepared:
    """``kept``: the image was there already and was only read again. ``removed``: other images
    that were taken away as asked; ``left_over``: parts of an interrupted run that were cleared.
    ``past``: how it was read back (ports.drive_space.Past)."""

    verdict: StickVerdict
    facts: StickFacts
    image: str
    sha256: str
    size: int
    kept: bool = False
    past: str = ""
    removed: tuple[str, ...] = ()
    left_over: tuple[str, ...] = ()
    others: tuple[Entry, ...] = ()
    findings: tuple[StickFinding, ...] = ()


@dataclass(frozen=True, slots=True)
class StickChecked:
    """``slip``: what was found of it; ``sha256``: of the image as it is now ("": it is not there);
    ``added``: what was not there when the stick was prepared."""

    verdict: StickVerdict
    facts: StickFacts
    slip: Slip | None
    sha256: str = ""
    past: str = ""
    added: tuple[Entry, ...] = ()
    findings: tuple[StickFinding, ...] = ()
