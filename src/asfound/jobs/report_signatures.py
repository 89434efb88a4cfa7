"""Signatures in the report: who signed what, and whether it is still what stands there."""

from __future__ import annotations

from collections.abc import Mapping
from zoneinfo import ZoneInfo

from asfound.jobs.report_pictures import Album
from asfound.jobs.report_texts import Row, count, when
from asfound.model.visit import Signature, VisitState

ROLE_WORDS: Mapping[str, str] = {
    "technician": "Technician",
    "operator": "For the operator",
    "witness": "Witness",
}
ON_PAPER = ("technician", "operator")
"""Roles that get a line to sign on paper when nobody has signed yet."""

LONGEST_PX = 1000


def signature_rows(state: VisitState, album: Album, local: ZoneInfo) -> list[Row]:
    """One row for each signature, in the order of the journal, then one for each empty line."""
    rows = [_signed(state, item, album, local) for item in state.signatures]
    roles = {item.role for item in state.signatures}
    technician = state.closed_by or state.opened_by
    rows += [
        {
            "signed": False,
            "role": ROLE_WORDS[role],
            "name": technician if role == "technician" else "",
        }
        for role in ON_PAPER
        if role not in roles
    ]
    return rows


def _signed(state: VisitState, item: Signature, album: Album, local: ZoneInfo) -> Row:
    later = state.changes_since(item)
    return {
        "signed": True,
        "role": ROLE_WORDS.get(item.role, item.role),
        "name": item.name,
        "at": when(item.at, local),
        "shot": album.whole(item.picture, LONGEST_PX) if item.picture else None,
        "entries": item.entry,
        "head": item.head,
        "later": f"{count(later, 'entry', 'entries')} written since" if later else "",
    }
