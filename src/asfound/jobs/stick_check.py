"""Look at a stick after the visit: is the image what was put there, and what came besides."""

from __future__ import annotations

from collections.abc import Sequence

from asfound.errors import InputError
from asfound.jobs.stick_copy import hash_on_stick, read_whole
from asfound.jobs.stick_look import PARTS, checked_sha256, images, not_ours
from asfound.jobs.stick_others import compared
from asfound.jobs.stick_slip import MOST_BYTES, read_slip
from asfound.jobs.stick_slip import NAME as SLIP
from asfound.model.menu_map import FirmwarePlace
from asfound.model.stick import (
    Entry,
    Slip,
    StickChecked,
    StickFault,
    StickFinding,
    StickVerdict,
)
from asfound.ports.drive_space import Past
from asfound.ports.progress import Progress, silent
from asfound.ports.stick import Stick


def check_stick(sha256: str, *, stick: Stick, progress: Progress = silent) -> StickChecked:
    """Read the image again and hold it against the slip, and against ``sha256`` unless it is "".

    Writes nothing. Raises UsageError, NotFound, StorageError, InputError for a damaged slip.
    """
    wanted = checked_sha256(sha256)
    stick.begin()
    try:
        return _checked(wanted, stick, progress)
    finally:
        stick.end()


def _checked(wanted: str, stick: Stick, progress: Progress) -> StickChecked:
    facts, entries = stick.facts(), stick.entries()
    found = [_interrupted(one.path) for one in entries if one.path in PARTS]
    slip = slip_of(entries, stick)
    if slip is None:
        note = "is not there: it was never prepared, not to the end, or the slip was taken away"
        found.append(StickFinding(StickFault.NO_SLIP, SLIP, note))
        return StickChecked(StickVerdict.COULD_NOT_TELL, facts, None, findings=tuple(found))
    if wanted and wanted != slip.sha256:
        note = f"says SHA-256 {slip.sha256}, not {wanted}"
        found.append(StickFinding(StickFault.SLIP_DISAGREES, SLIP, note))
    sha256 = ""
    image = next((one for one in entries if one.path == slip.image and one.kind == "file"), None)
    if image is None:
        found.append(StickFinding(StickFault.IMAGE_MISSING, slip.image, "is not there any more"))
    else:
        sha256, size = hash_on_stick(stick, image, progress)
        if (sha256, size, image.size) != (slip.sha256, slip.size, slip.size):
            note = f"has {size} bytes and SHA-256 {sha256}, not {slip.size} and {slip.sha256}"
            found.append(StickFinding(StickFault.IMAGE_CHANGED, slip.image, note))
        if stick.past == Past.UNSURE:
            note = "was read, perhaps from the computer's memory; pull the stick and put it in anew"
            found.append(StickFinding(StickFault.READ_BACK_UNSURE, slip.image, note))
    for one in images(entries, FirmwarePlace(slip.folder, slip.pattern)):
        if one.path != slip.image:
            note = "is another image that the recorder might take"
            found.append(StickFinding(StickFault.OTHER_IMAGE, one.path, note))
    past = str(stick.past)
    others = not_ours(entries, slip.image)
    if slip.others is None:
        note = "does not list what else was on the stick: what was added cannot be told"
        found.append(StickFinding(StickFault.NOT_LISTED, SLIP, note))
    found += compared(stick, slip, others, progress)
    before = None if slip.others is None else {one.path for one in slip.others}
    added = () if before is None else tuple(one for one in others if one.path not in before)
    verdict = StickVerdict.CHANGED if found else StickVerdict.UNCHANGED
    return StickChecked(verdict, facts, slip, sha256, past, added, tuple(found))


def slip_of(entries: Sequence[Entry], stick: Stick) -> Slip | None:
    """The slip among ``entries``; None where there is none. Raises InputError, StorageError."""
    entry = next((one for one in entries if one.path == SLIP), None)
    if entry is None:
        return None
    if entry.kind != "file" or entry.size > MOST_BYTES:
        raise InputError(f"{SLIP} on the stick: is no slip; prepare the stick again")
    return read_slip(read_whole(stick, SLIP, entry.size))


def _interrupted(path: str) -> StickFinding:
    note = "is left of a preparation that did not end; prepare the stick again"
    return StickFinding(StickFault.INTERRUPTED, path, note)
