"""Files that common players play, made from copies for evidence and marked as made."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from asfound.errors import IntegrityError, RecordingError
from asfound.jobs.evidence_choose import derived_name
from asfound.ports.bags import NewBag
from asfound.ports.remux import Remuxed, Remuxer

NOTE = "made from the recording so that players play it; it is not the evidence itself"


@dataclass(frozen=True, slots=True)
class Original:
    """A copy in the bag: its name and SHA-256."""

    name: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Derived:
    """What the record says of it, and name, SHA-256 and size [bytes] of the file that was made;
    or why there is none."""

    told: dict[str, object]
    name: str = ""
    sha256: str = ""
    size: int = 0
    why_not: str = ""


def derive(bag: NewBag, remuxer: Remuxer, original: Original, seen: set[str]) -> Derived:
    """A file made beside ``original``, under a name that is not among ``seen``.

    Raises StorageError.
    """
    name = derived_name(original.name, seen)
    done: list[Remuxed] = []

    def make(copy: Path, out: Path) -> None:
        try:
            done.append(remuxer.remux(copy, out))
        except (RecordingError, IntegrityError) as error:
            # The copy lies in a folder that will have another name by then.
            raise RecordingError(str(error).removeprefix(f"{copy}: ")) from None

    try:
        made = bag.derive(name, original.name, make)
    except RecordingError as error:
        why = str(error)
        return Derived({"not_derived": why}, why_not=f"{original.name}: {why}")
    told: dict[str, object] = {
        "path": name,
        "bytes": made.size,
        "sha256": made.sha256,
        "made_from": original.name,
        "made_from_sha256": original.sha256,
        "tool": done[0].tool,
        "streams_left_out": list(done[0].left_out),
        "note": NOTE,
    }
    return Derived({"derived": told}, name, made.sha256, made.size)
