"""What else is on a stick, by content: read when it is prepared, and again when it is checked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from asfound.errors import AsfoundError
from asfound.jobs.stick_copy import hash_on_stick
from asfound.model.stick import Entry, Slip, StickFault, StickFinding
from asfound.ports.progress import Progress
from asfound.ports.stick import Stick


def with_contents(stick: Stick, entries: Sequence[Entry], progress: Progress) -> tuple[Entry, ...]:
    """The entries, each file with the SHA-256 of what it gives; "" for one that cannot be read:
    a neighbour's damage does not keep the image off the stick. Read piece by piece."""
    return tuple(
        replace(one, sha256=_content(stick, one, progress)) if one.kind == "file" else one
        for one in entries
    )


def compared(
    stick: Stick, slip: Slip, now: Sequence[Entry], progress: Progress
) -> tuple[StickFinding, ...]:
    """What of the slip's other things went, grew, or holds something else."""
    there = {one.path: one for one in now}
    found = []
    for one in slip.others or ():
        other = there.get(one.path)
        if other is None:
            note = "was there when the stick was prepared, and is gone"
            found.append(StickFinding(StickFault.GONE, one.path, note))
        elif other != one:
            note = f"was a {one.kind} of {one.size} bytes, is a {other.kind} of {other.size}"
            found.append(StickFinding(StickFault.RESIZED, one.path, note))
        elif one.sha256 and (content := _content(stick, other, progress)) != one.sha256:
            note = "holds something else than when the stick was prepared"
            if not content:
                note = "could be read when the stick was prepared, and cannot be read now"
            found.append(StickFinding(StickFault.ALTERED, one.path, note))
    return tuple(found)


def _content(stick: Stick, entry: Entry, progress: Progress) -> str:
    try:
        sha256, size = hash_on_stick(stick, entry, progress)
    except AsfoundError:
        return ""
    return sha256 if size == entry.size else ""
