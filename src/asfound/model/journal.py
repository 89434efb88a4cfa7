"""The journal of a visit: append-only, each entry carries the hash of the one before."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

GENESIS = "0" * 64


@dataclass(frozen=True, slots=True)
class Entry:
    """One journal entry. ``data`` is JSON-able; ``at`` is aware UTC; hashes are hex SHA-256."""

    visit: str
    seq: int
    at: datetime
    by: str
    kind: str
    data: Mapping[str, Any]
    previous: str
    hash: str


def canonical_json(value: object) -> str:
    """JSON with sorted keys, no spaces, UTF-8 text: the same value gives the same bytes."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def rfc3339(at: datetime) -> str:
    """UTC time with microseconds and Z, e.g. 2026-11-25T12:00:00.000000Z (RFC 3339)."""
    return at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def entry_hash(
    visit: str, seq: int, at: datetime, by: str, kind: str, data: Mapping[str, Any], previous: str
) -> str:
    """SHA-256 over the entry's canonical JSON, the previous hash included."""
    body = {
        "visit": visit,
        "seq": seq,
        "at": rfc3339(at),
        "by": by,
        "kind": kind,
        "data": data,
        "previous": previous,
    }
    return hashlib.sha256(canonical_json(body).encode("utf-8")).hexdigest()


def next_entry(
    entries: Sequence[Entry], visit: str, at: datetime, by: str, kind: str, data: Mapping[str, Any]
) -> Entry:
    """The entry that continues ``entries``, not yet stored."""
    previous = entries[-1].hash if entries else GENESIS
    seq = len(entries)
    return Entry(
        visit,
        seq,
        at,
        by,
        kind,
        data,
        previous,
        entry_hash(visit, seq, at, by, kind, data, previous),
    )


def unaltered(entry: Entry) -> bool:
    """True when the entry's hash is that of what it holds; its chain is another matter."""
    made = entry_hash(
        entry.visit, entry.seq, entry.at, entry.by, entry.kind, entry.data, entry.previous
    )
    return made == entry.hash


def chain_fault(entries: Sequence[Entry]) -> str | None:
    """What breaks the chain, in one line; None when every entry is as it was written."""
    previous = GENESIS
    for seq, entry in enumerate(entries):
        if entry.seq != seq:
            return f"entry {seq} is missing (found number {entry.seq})"
        if entry.previous != previous:
            return f"entry {seq} does not continue the entry before it"
        made = entry_hash(
            entry.visit, seq, entry.at, entry.by, entry.kind, entry.data, entry.previous
        )
        if made != entry.hash:
            return f"entry {seq} ({entry.kind}) was changed after it was written"
        previous = entry.hash
    return None
