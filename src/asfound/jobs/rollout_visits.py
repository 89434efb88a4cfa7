"""The visits that a rollout is judged by."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime

from asfound.jobs.visit_journal import load_visit
from asfound.model.visit import VisitState
from asfound.model.visit_line import LineQuery
from asfound.ports.blobs import Blobs
from asfound.ports.store import Store


def rollout_visits(
    numbers: Sequence[str], start: datetime, *, store: Store, blobs: Blobs
) -> Mapping[str, Sequence[VisitState]]:
    """By vehicle number, its visits opened since ``start`` (aware) and the last one.

    Raises StorageError, IntegrityError.
    """
    made: dict[str, list[VisitState]] = defaultdict(list)
    for line in store.lines(LineQuery(tuple(numbers))):
        # Newest first: the first of a vehicle is its last.
        if line.opened_at >= start or line.vehicle not in made:
            made[line.vehicle].append(load_visit(line.id, store=store, blobs=blobs))
    return made
