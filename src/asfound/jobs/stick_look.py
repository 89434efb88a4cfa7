"""What lies on a stick, seen by a recorder that looks for one firmware image."""

from __future__ import annotations

from collections.abc import Sequence

from asfound.calc.stick_names import fits, name_fault, same_key, split
from asfound.errors import StorageError, UsageError
from asfound.jobs.stick_slip import NAME as SLIP
from asfound.jobs.stick_slip import SHA256
from asfound.model.menu_map import FirmwarePlace
from asfound.model.stick import (
    FAT_KINDS,
    FAT_MOST,
    USUAL_KINDS,
    Entry,
    StickFacts,
    StickFault,
    StickFinding,
)
from asfound.ports.stick import OURS

IMAGE_PART = f"{OURS}/image.part"
SLIP_PART = f"{OURS}/slip.part"
PARTS = (IMAGE_PART, SLIP_PART)
SLIP_ROOM = 4 << 20
"""Bytes that stay free for the slip and the file system's own tables (own choice)."""


def images(entries: Sequence[Entry], place: FirmwarePlace) -> tuple[Entry, ...]:
    """Files and links that the recorder would take for firmware."""
    folder = same_key(place.folder)
    return tuple(
        one
        for one in entries
        if one.kind in ("file", "link")
        and same_key(split(one.path)[0]) == folder
        and fits(split(one.path)[1], place.pattern)
    )


def not_ours(entries: Sequence[Entry], image: str) -> tuple[Entry, ...]:
    """All but the image, the folders that lead to it, and what is ours."""
    return tuple(
        one
        for one in entries
        if one.path not in (image, OURS)
        and not one.path.startswith(f"{OURS}/")
        and not (one.kind == "folder" and image.startswith(f"{one.path}/"))
    )


def clashes(entries: Sequence[Entry], path: str) -> tuple[StickFinding, ...]:
    """What stands in the way of ``path``: its name or its folders' in other letters, or as
    another kind of thing."""
    wanted = {same_key(path): (path, "file")}
    folder = split(path)[0]
    while folder:
        wanted[same_key(folder)] = (folder, "folder")
        folder = split(folder)[0]
    found = []
    for one in entries:
        meant, kind = wanted.get(same_key(one.path), (one.path, one.kind))
        if meant != one.path:
            note = f"is {meant!a} to FAT and exFAT, in other letters; rename it or take it away"
            found.append(StickFinding(StickFault.NAME_CLASH, one.path, note))
        elif kind != one.kind:
            note = f"is a {one.kind}, and a {kind} is wanted there; rename it or take it away"
            found.append(StickFinding(StickFault.NAME_CLASH, one.path, note))
    return tuple(found)


def check_ours(entries: Sequence[Entry]) -> None:
    """Raises StorageError where something of somebody else's has a name of ours."""
    for one in entries:
        for ours, kind in ((OURS, "folder"), (SLIP, "file"), *((part, "file") for part in PARTS)):
            same = same_key(one.path) == same_key(ours)
            if same and (one.path != ours or one.kind != kind):
                raise StorageError(
                    f"{one.path!a}: stands on the stick where {ours} is needed; move it away"
                )


def check_place(facts: StickFacts, size: int) -> None:
    """Raises UsageError for the computer's own disk, StorageError where the image cannot go."""
    if facts.system:
        raise UsageError(
            f"{facts.device}: the computer runs from this disk, it is no stick; name where the "
            "stick is mounted"
        )
    if facts.read_only:
        raise StorageError(
            f"{facts.device}: is mounted for reading only; look for the stick's switch, or mount "
            "it writable"
        )
    if facts.kind == "msdos":
        raise StorageError(
            f"{facts.device}: is mounted as msdos, without long names; mount it as vfat"
        )
    if facts.kind in FAT_KINDS and size > FAT_MOST:
        raise StorageError(
            f"the image has {size} bytes and a file on FAT32 at most {FAT_MOST}; use a stick with "
            "exFAT, if the recorder reads it"
        )


def check_room(facts: StickFacts, size: int, parts: int) -> None:
    """Raises StorageError when an image of ``size`` bytes does not fit beside what is there but
    for ``parts`` bytes that are cleared first."""
    block = max(1, facts.block)
    needs = -(-size // block) * block + SLIP_ROOM
    if needs > facts.free + parts:
        raise StorageError(
            f"{facts.device}: {needs} bytes are needed and {facts.free + parts} are free; delete "
            "what is not needed, or use an empty stick"
        )


def kind_findings(facts: StickFacts) -> tuple[StickFinding, ...]:
    """A file system that few recorders read."""
    if facts.kind in USUAL_KINDS:
        return ()
    kind = "NTFS or exFAT by a helper program" if facts.kind == "fuseblk" else facts.kind
    note = f"it has {kind}, not FAT32 or exFAT; look whether the recorder reads that"
    return (StickFinding(StickFault.FILE_SYSTEM, "", note),)


def check_name(name: str, place: FirmwarePlace) -> None:
    """Raises UsageError when a stick would not keep the name, or the recorder not look for it."""
    if fault := name_fault(name):
        raise UsageError(f"{name!a} {fault}; give another name with --as")
    if not fits(name, place.pattern):
        raise UsageError(
            f"{name!a} does not fit {place.pattern!a}, which the recorder looks for; give the name "
            "with --as, or look whether it is the right image"
        )
    if same_key(place.folder).split("/")[0] == same_key(OURS):
        raise UsageError(f"{place.folder!a} is where the slip lies; name another folder")


def checked_sha256(text: str) -> str:
    """The digits in lower case; "" stays. Raises UsageError."""
    if text and not SHA256.fullmatch(text.lower()):
        raise UsageError("--sha256: 64 digits 0-9 a-f are wanted")
    return text.lower()
