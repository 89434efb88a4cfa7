"""A prepared or checked stick in its documented form, asfound-stick/1 (docs/stick.md)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict

from asfound.model.stick import Entry, StickChecked, StickFacts, StickFinding, StickPrepared

FORMAT = "asfound-stick/1"


def prepared_data(found: StickPrepared) -> dict[str, object]:
    """What `asfound stick prepare --json` prints."""
    return {
        "format": FORMAT,
        "verdict": str(found.verdict),
        "file_system": _facts(found.facts),
        "image": found.image,
        "sha256": found.sha256,
        "size": found.size,
        "kept": found.kept,
        "read_back": found.past,
        "removed": list(found.removed),
        "left_over": list(found.left_over),
        "others": _entries(found.others),
        "findings": _findings(found.findings),
    }


def checked_data(found: StickChecked) -> dict[str, object]:
    """What `asfound stick check --json` prints."""
    slip = None if found.slip is None else asdict(found.slip)
    if slip is not None:
        del slip["others"]
    return {
        "format": FORMAT,
        "verdict": str(found.verdict),
        "file_system": _facts(found.facts),
        "slip": slip,
        "sha256": found.sha256,
        "read_back": found.past,
        "added": _entries(found.added),
        "findings": _findings(found.findings),
    }


def _facts(facts: StickFacts) -> dict[str, object]:
    return {
        "kind": facts.kind, "device": facts.device, "total": facts.total, "free": facts.free,
    }  # fmt: skip


def _entries(entries: Iterable[Entry]) -> list[dict[str, object]]:
    return [{"path": one.path, "kind": one.kind, "size": one.size} for one in entries]


def _findings(findings: Iterable[StickFinding]) -> list[dict[str, object]]:
    return [{"kind": str(one.kind), "path": one.path, "note": one.note} for one in findings]
