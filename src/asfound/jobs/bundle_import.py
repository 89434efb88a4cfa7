"""Take a bundle in: believed signers alone, checked whole first, then blobs, then the records."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from asfound.errors import IntegrityError, NotFound, UsageError
from asfound.jobs.bag_verify import Glance, glance_at, verify_bag
from asfound.jobs.bundle_check import check_bundle
from asfound.jobs.bundle_known import BLOBS
from asfound.jobs.bundle_lines import LINE_MOST, RECORDS, Head, read_head, read_lines
from asfound.model.bag import BagFault
from asfound.model.bundle import Bundle, Merged
from asfound.ports.bags import OpenBag
from asfound.ports.blobs import Blobs
from asfound.ports.clock import Clock
from asfound.ports.merging import Merging
from asfound.ports.progress import Progress, silent
from asfound.ports.signatures import Signatures

RECORDS_MOST = 1 << 28
BLOB_MOST = 1 << 28
"""Bytes; a photograph has at most 100 million."""


@dataclass(frozen=True, slots=True)
class ImportDesk:
    """What taking in works with."""

    merging: Merging
    blobs: Blobs
    clock: Clock
    signatures: Signatures


@dataclass(frozen=True, slots=True)
class BundleImported:
    """What was new: ``blobs`` that were not here, and ``merged``; ``signed_by`` in figures."""

    signed_by: str
    visits: tuple[str, ...]
    blobs: int
    merged: Merged

    @property
    def nothing(self) -> bool:
        """True when all of it was here."""
        return self.merged.nothing and not self.blobs


def import_bundle(
    bag: OpenBag,
    believed: Collection[bytes],
    *,
    desk: ImportDesk,
    progress: Progress = silent,
) -> BundleImported:
    """Verify, check and take in; a killed run is continued by the next one, and what is here
    whole is left alone.

    ``believed``: public keys. Raises UsageError (an unknown signer), IntegrityError (altered,
    naming the entry), InputError (no bundle, or a newer one), NotFound, StorageError,
    Interrupted; then no record was taken in, and before the first blob was, all was checked.
    """
    seen = _trusted(bag, believed, desk.signatures)
    _may_be_read(seen)
    first = next(iter(bag.lines(RECORDS, LINE_MOST)), b"")
    read_head(first)
    whole = verify_bag(bag, signatures=desk.signatures, progress=progress)
    _refuse(whole.faults)
    source = _Payload(bag, seen)
    head, bundle = source.records(desk.clock)
    if head.writer != seen.signed_by:
        raise IntegrityError(f"{RECORDS}: names another writer than the one who signed")
    checked = check_bundle(head, bundle, seen.sums, source.blob)
    fresh = 0
    for number, name in enumerate(checked.blobs):
        progress(number, len(checked.blobs), name[:12])
        fresh += _kept(name, source, desk.blobs)
    progress(len(checked.blobs), len(checked.blobs), "")
    merged = desk.merging.merge(bundle)
    return BundleImported(seen.signed_by, head.visits, fresh, merged)


def _trusted(bag: OpenBag, believed: Collection[bytes], signatures: Signatures) -> Glance:
    seen = glance_at(bag, signatures=signatures)
    _refuse(seen.faults)
    if not seen.signed_by:
        raise IntegrityError("is not signed; ask for a bundle that is")
    if bytes.fromhex(seen.signed_by) not in believed:
        raise UsageError(
            f"is signed with key {seen.signed_by}, which nobody here said to believe; if its owner "
            "told you this key, add it to trusted-keys in the home folder, or give it with --key"
        )
    return seen


def _may_be_read(seen: Glance) -> None:
    """The payload is all listed, and nothing of it too large; its sums are checked later."""
    for name, size in seen.files.items():
        limit = RECORDS_MOST if name == RECORDS else BLOB_MOST
        if name.startswith("data/") and (name not in seen.sums or size > limit):
            why = "was added" if name not in seen.sums else f"holds {size} bytes, too many"
            raise IntegrityError(f"{name}: {why}; ask for another copy")
    missing = set(seen.sums) - set(seen.files)
    if missing:
        raise IntegrityError(f"{min(missing)}: is missing; ask for another copy")
    if RECORDS not in seen.sums:
        raise IntegrityError(f"{RECORDS}: is not there; this bag is no bundle of asfound")


def _refuse(faults: tuple[BagFault, ...]) -> None:
    if faults:
        first = faults[0]
        more = len(faults) - 1
        why = f"{first.note} (and {more} more)" if more else first.note
        raise IntegrityError(f"{first.path or 'the bag'}: {why}; ask for another copy")


@dataclass(slots=True)
class _Payload:
    """Reads the payload; what it gives is what was signed, also where a file is exchanged
    meanwhile."""

    bag: OpenBag
    seen: Glance

    def records(self, clock: Clock) -> tuple[Head, Bundle]:
        digest = hashlib.sha256()

        def lines() -> Iterator[bytes]:
            for line in self.bag.lines(RECORDS, LINE_MOST):
                digest.update(line)
                yield line

        made = read_lines(lines(), clock.now())
        if digest.hexdigest() != self.seen.sums[RECORDS]:
            raise IntegrityError(f"{RECORDS}: was changed while it was read")
        return made

    def blob(self, name: str) -> bytes:
        """Raises NotFound, IntegrityError."""
        path = BLOBS + name
        if path not in self.seen.files:
            raise NotFound(f"{path}: is not there")
        data = self.bag.read(path, self.seen.files[path] + 1)
        if hashlib.sha256(data).hexdigest() != name:
            raise IntegrityError(f"{path}: its name is not the hash of its bytes")
        return data


def _kept(name: str, source: _Payload, blobs: Blobs) -> bool:
    """Store a blob unless it is here and whole; True when it was stored."""
    try:
        blobs.get(name)
    except (NotFound, IntegrityError):
        blobs.put(source.blob(name))
        return True
    return False
