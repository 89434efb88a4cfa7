"""Verbs: recordings of a vehicle's cameras that devices sent, laid out to be looked at, deleted.

They are footage of people: kept beside the visit until they are deleted or two weeks old, and never
part of the journal, which names only what they show.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path, PurePath

from asfound.calc.plain_text import plain
from asfound.errors import UsageError
from asfound.jobs.prove_suffix import SAID
from asfound.jobs.visit_gates import require_open, step_for
from asfound.model.upload import Upload
from asfound.model.visit import VisitState
from asfound.ports.uploads import Uploads

SUFFIXES = frozenset(SAID)
"""Endings that are taken: those that say which container a recording is in."""

_STRANGE = re.compile(r"[^A-Za-z0-9._-]+")
_NAME_LETTERS = 100


@dataclass(frozen=True, slots=True)
class SentRecordings:
    """Recordings of a visit: ``here`` as a whole, and those still ``coming``, oldest first."""

    here: Sequence[Upload]
    coming: Sequence[Upload]


def check_recording(state: VisitState, name: str) -> None:
    """Raises GateShut and UsageError unless a recording of this name may be sent now."""
    require_open(state, step_for(state, "prove"))
    if PurePath(name).suffix.lower() not in SUFFIXES:
        raise UsageError(
            f"{plain(name)}: its name says no kind of recording (.mp4, .mkv, .avi, .ts and such); "
            "leave it out, or have its folder looked at on the laptop"
        )


def sent_recordings(visit: str, uploads: Uploads) -> SentRecordings:
    """What was sent. Raises StorageError."""
    found = [item for item in uploads.of(visit) if item.kind == "recording"]
    here = [item for item in found if item.state == "kept"]
    return SentRecordings(here, [item for item in found if item.state != "kept"])


def lay_out(visit: str, uploads: Uploads) -> Path:
    """A folder with the recordings that are here, each by a name made of its own.

    Raises UsageError when none is, StorageError.
    """
    named: dict[str, Upload] = {}
    for item in sent_recordings(visit, uploads).here:
        named[_free_name(item.name, named)] = item
    if not named:
        raise UsageError("no recording was sent yet; choose some and send them")
    return uploads.folder(named)


def forget_recordings(visit: str, uploads: Uploads) -> int:
    """Deletes every recording that was sent; how many. Raises StorageError."""
    sent = sent_recordings(visit, uploads)
    for item in (*sent.here, *sent.coming):
        uploads.forget(item)
    return len(sent.here) + len(sent.coming)


def _free_name(name: str, taken: dict[str, Upload]) -> str:
    """The name in plain letters, with a number where it is taken: channel and start are read
    from names, so all that says them stays."""
    path = PurePath(name)
    stem = _STRANGE.sub("_", path.stem).lstrip(".")[:_NAME_LETTERS] or "recording"
    made, number = stem + path.suffix.lower(), 1
    while made in taken:
        number += 1
        made = f"{stem}-{number}{path.suffix.lower()}"
    return made
