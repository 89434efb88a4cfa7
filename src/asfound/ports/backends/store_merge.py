"""Take a bundle into the store, within one transaction: everything of it, or nothing.

Every rule is a union or a choice by content, so that order and repetition change nothing:
logs as `store_aside` says; of a hold the earliest release, two orders under one id are both kept;
of a tick the latest; photographs of places in the order of their times.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sqlalchemy import Connection, delete, insert, select

from asfound.model.bundle import (
    TWIN_SIGN,
    Book,
    Bundle,
    Fork,
    Merged,
    order_key,
    plain_id,
)
from asfound.model.hold import Hold
from asfound.model.journal import Entry, rfc3339
from asfound.model.key_tick import KeyTick
from asfound.model.place_picture import PlacePicture
from asfound.ports.backends.store_aside import merge_log
from asfound.ports.backends.store_places import place_pictures, save_place_picture
from asfound.ports.backends.store_tables import HOLDS, PLACES, hold_row, row_hold
from asfound.ports.backends.store_ticks import save_tick, ticks

TWIN_FIGURES = 8
"""Of the hash of an order, behind the id that another one has."""


@dataclass(frozen=True, slots=True)
class _Logs:
    grown: tuple[str, ...]
    entries: int
    forks: tuple[Fork, ...]


def merge_bundle(connection: Connection, bundle: Bundle) -> Merged:
    """Take it in. Raises IntegrityError when what is stored was altered beyond reading."""
    visits = _merge_logs(connection, Book.VISIT, bundle.visits)
    requests = _merge_logs(connection, Book.REQUEST, bundle.requests)
    drives = _merge_logs(connection, Book.DRIVE, bundle.drives)
    holds, releases, twins = _merge_holds(connection, bundle.holds)
    return Merged(
        visits.grown,
        requests.grown,
        visits.entries + requests.entries + drives.entries,
        holds,
        releases,
        _merge_ticks(connection, bundle.ticks),
        _merge_places(connection, bundle.places),
        (*visits.forks, *requests.forks, *drives.forks),
        twins,
        drives.grown,
    )


def _merge_logs(connection: Connection, book: Book, entries: Sequence[Entry]) -> _Logs:
    logs: dict[str, list[Entry]] = {}
    for entry in entries:
        logs.setdefault(entry.visit, []).append(entry)
    grown: list[str] = []
    forks: list[Fork] = []
    count = 0
    for log in sorted(logs):
        fresh, fork = merge_log(connection, book, log, logs[log])
        count += fresh
        if fresh:
            grown.append(log)
        if fork is not None:
            forks.append(fork)
    return _Logs(tuple(grown), count, tuple(forks))


def _merge_holds(connection: Connection, given: Sequence[Hold]) -> tuple[int, int, tuple[str, ...]]:
    """How many orders and releases were unknown, and the ids of holds that are twins."""
    wanted = {plain_id(hold.id) for hold in given}
    rows = connection.execute(select(HOLDS)).mappings().all()
    stored = [row_hold(row) for row in rows if plain_id(row["id"]) in wanted]
    known = {order_key(hold): replace(hold, id=plain_id(hold.id)) for hold in stored}
    orders, releases = 0, 0
    for hold in (replace(hold, id=plain_id(hold.id)) for hold in given):
        key = order_key(hold)
        before = known.get(key)
        known[key] = hold if before is None else _released_first(before, hold)
        orders += before is None
        releases += before is not None and known[key] != before
    made: list[Hold] = []
    for name in wanted:
        same = [(key, hold) for key, hold in known.items() if hold.id == name]
        same.sort(key=lambda pair: (pair[1].placed_at, pair[0]))
        made.append(same[0][1])
        made += [
            replace(hold, id=f"{name}{TWIN_SIGN}{key[:TWIN_FIGURES]}") for key, hold in same[1:]
        ]
    if orders or releases:
        connection.execute(delete(HOLDS).where(HOLDS.c.id.in_([hold.id for hold in stored])))
        connection.execute(insert(HOLDS), [hold_row(hold) for hold in made])
    return orders, releases, tuple(sorted(hold.id for hold in made if TWIN_SIGN in hold.id))


def _released_first(one: Hold, other: Hold) -> Hold:
    """The one that was released first; of two at one moment, by name and reason."""
    released = [hold for hold in (one, other) if hold.released_at is not None]
    return min(released, key=_release) if released else one


def _release(hold: Hold) -> tuple[str, str, str]:
    at = rfc3339(hold.released_at) if hold.released_at else ""
    return at, hold.released_by or "", hold.release_reason or ""


def _merge_ticks(connection: Connection, given: Sequence[KeyTick]) -> int:
    known = {
        (tick.visit, tick.mark): tick
        for visit in {tick.visit for tick in given}
        for tick in ticks(connection, visit)
    }
    count = 0
    for tick in given:
        before = known.get((tick.visit, tick.mark))
        if before is None or _tick_rank(tick) > _tick_rank(before):
            known[tick.visit, tick.mark] = tick
            save_tick(connection, tick)
            count += 1
    return count


def _tick_rank(tick: KeyTick) -> tuple[str, bool, str]:
    return rfc3339(tick.at), tick.done, tick.by


def _merge_places(connection: Connection, given: Sequence[PlacePicture]) -> int:
    count = 0
    for vehicle in sorted({picture.vehicle for picture in given}):
        stored = list(reversed(place_pictures(connection, vehicle)))
        known = {_place_rank(one): one for one in stored}
        made = known | {_place_rank(one): one for one in given if one.vehicle == vehicle}
        ordered = [made[rank] for rank in sorted(made)]
        count += len(made) - len(known)
        if ordered != stored:
            connection.execute(delete(PLACES).where(PLACES.c.vehicle == vehicle))
            for one in ordered:
                save_place_picture(connection, one)
    return count


def _place_rank(picture: PlacePicture) -> tuple[str, str, str]:
    return rfc3339(picture.at), picture.picture, picture.by
