"""Copy recordings for evidence into a signed bag (RFC 8493); the originals stay as they are."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from asfound.calc.plain_text import plain
from asfound.errors import UsageError
from asfound.jobs.bag_pack import Payload, seal
from asfound.jobs.bag_verify import RECORD
from asfound.jobs.evidence_about import NAME as ABOUT
from asfound.jobs.evidence_about import TEMPLATE, about_data
from asfound.jobs.evidence_choose import UNKNOWN, Chosen, Wanted, choose, name_in_bag
from asfound.jobs.evidence_derive import Derived, Original, derive
from asfound.jobs.footage_requests import MOST_AHEAD_S
from asfound.model.coverage import Piece
from asfound.ports.bags import Copied, NewBag
from asfound.ports.clock import Clock
from asfound.ports.containers import Containers
from asfound.ports.pdf import PdfMaker
from asfound.ports.progress import Progress, silent
from asfound.ports.remux import Remuxer
from asfound.ports.signatures import KeyPair, Signatures

FORMAT = "asfound-evidence/1"


@dataclass(frozen=True, slots=True)
class CopyEvidence:
    """Recordings of ``vehicle`` between ``start`` and ``end`` (aware, true time), for whom and why.

    ``offset_s`` [s]: what the recorder showed minus the true time, a fast clock is above 0; None:
    it was not noted. ``everything``: every file given, whatever its time.
    """

    paths: tuple[Path, ...]
    vehicle: str
    start: datetime
    end: datetime
    by: str
    why: str
    offset_s: float | None = None
    everything: bool = False
    pattern: str = ""


@dataclass(frozen=True, slots=True)
class EvidenceCopied:
    """Files and bytes that were copied, what could not be placed in time and was left out, the
    public key in figures, how many files of a killed run were removed first, names in the bag of
    files whose channel cannot be told, how many files were made for players, and of which
    recordings none was and why."""

    files: int
    size: int
    left_out: tuple[str, ...]
    public: str
    removed: int
    no_channel: tuple[str, ...] = ()
    remuxed: int = 0
    not_remuxed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Desk:
    """What the copy works with; ``remuxer`` makes a file that common players play beside each
    recording, None: none is made."""

    video: Containers
    signatures: Signatures
    clock: Clock
    pdf: PdfMaker
    remuxer: Remuxer | None = None


def copy_evidence(
    request: CopyEvidence, key: KeyPair, *, bag: NewBag, desk: Desk, progress: Progress = silent
) -> EvidenceCopied:
    """Copy, hash while copying, read again, pack and sign. Files stay whole.

    Raises UsageError, NotFound (nothing lies in the span), RecordingError, StorageError,
    IntegrityError, MissingPart (documents), Interrupted; then no bag has the name.
    """
    _check(request)
    began = desk.clock.now()
    wanted = Wanted(
        request.paths, request.start, request.end, request.offset_s or 0.0, request.pattern,
        request.everything, began,
    )  # fmt: skip
    chosen, left_out = choose(wanted, desk.video)
    try:
        removed = bag.begin()
        files: list[dict[str, object]] = []
        sums: dict[str, str] = {}
        made: list[Derived] = []
        seen: set[str] = set()
        for number, one in enumerate(chosen):
            progress(number, len(chosen), one.item.path.name)
            name = name_in_bag(one.item, seen)
            copied = bag.copy(one.item.path, name)
            sums[name] = copied.sha256
            files.append(_file(one, name, copied))
            if desk.remuxer is not None:
                made.append(derive(bag, desk.remuxer, Original(name, copied.sha256), seen))
                files[-1] |= made[-1].told
        # Before anything says that the copies were read again and found the same.
        bag.settle()
        size = sum(int(str(one["bytes"])) for one in files)
        sums |= {one.name: one.sha256 for one in made if one.name}
        with_made = size + sum(one.size for one in made)
        record = _record(request, files, left_out, (began, desk.clock.now()))
        info = {
            "Contact-Name": request.by,
            "External-Description": f"recordings of vehicle {request.vehicle}: {request.why}",
        }
        told = (json.dumps(record, indent=1, ensure_ascii=True) + "\n").encode("ascii")
        about = desk.pdf.compile(TEMPLATE, about_data(record, key.public.hex()), {}, began)
        more = {RECORD: told, ABOUT: about}
        seal(bag, Payload(sums, with_made, began), info, more, key=key, signatures=desk.signatures)
        bag.finish()
        progress(len(chosen), len(chosen), "")
    finally:
        bag.drop()
    unknown = tuple(
        str(told["path"]) for one, told in zip(chosen, files, strict=True) if one.no_channel
    )
    lacking = tuple(one.why_not for one in made if one.why_not)
    return EvidenceCopied(
        len(files), size, left_out, key.public.hex(), removed, unknown,
        len(made) - len(lacking), lacking,
    )  # fmt: skip


def _check(request: CopyEvidence) -> None:
    for name, text in (
        ("--vehicle", request.vehicle),
        ("--by", request.by),
        ("--why", request.why),
    ):
        if not text.strip():
            raise UsageError(f"{name} is empty; custody needs it")
    if request.end <= request.start:
        raise UsageError("the span ends before it begins; change --from or --until")
    ahead = request.offset_s or 0.0
    if not math.isfinite(ahead) or abs(ahead) > MOST_AHEAD_S:
        raise UsageError("--offset: no recorder's clock is that far off; give seconds")


def _file(one: Chosen, name: str, copied: Copied) -> dict[str, object]:
    modified = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=copied.modified_ns // 1000)
    return {
        "path": name,
        "original": plain(str(one.item.path)),
        "bytes": copied.size,
        "sha256": copied.sha256,
        "modified": _utc(modified),
        "channels": [_held(piece) for piece in one.pieces],
        "unclear": list(one.unclear),
    }


def _held(piece: Piece) -> dict[str, object]:
    channel = None if piece.channel == UNKNOWN else piece.channel
    return {"channel": channel, "start": _utc(piece.start), "end": _utc(piece.end)}


def _record(
    request: CopyEvidence,
    files: Sequence[dict[str, object]],
    left_out: Sequence[str],
    times: tuple[datetime, datetime],
) -> dict[str, object]:
    return {
        "format": FORMAT,
        "vehicle": request.vehicle,
        "from": _utc(request.start),
        "until": _utc(request.end),
        "whole_files": "files are copied whole: they may begin before and end after the span",
        "everything": request.everything,
        "offset_s": request.offset_s,
        "offset": offset_text(request.offset_s),
        "custody": [
            {"who": request.by, "when": _utc(times[0]), "why": request.why,
             "what": "copying began"},
            {
                "who": request.by, "when": _utc(times[1]), "why": request.why,
                "what": f"{len(files)} files copied, each read again and found the same",
            },
        ],
        "left_out": list(left_out),
        "files": list(files),
    }  # fmt: skip


def offset_text(offset_s: float | None) -> str:
    """The clock's offset in words: recorder minus true time ; a fast clock is above 0."""
    if offset_s is None:
        return "the recorder's clock was not compared with the true time; times are as it showed"
    minutes, seconds = divmod(abs(offset_s), 60)
    amount = f"{int(minutes)} min {seconds:g} s"
    if not offset_s:
        return "the recorder showed the true time"
    if offset_s > 0:
        return f"the recorder's clock was {amount} fast: take {amount} from a time it shows"
    return f"the recorder's clock was {amount} slow: add {amount} to a time it shows"


def _utc(at: datetime) -> str:
    return at.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
