"""Stores put together: whatever the order and repetition, all end with the same, and lose nothing.

What must hold is that of a state-based replicated data type: merging is commutative, associative
and idempotent (Shapiro, Preguiça, Baquero, Zawirski: Conflict-free Replicated Data Types, 2011;
from memory). Expected states are unions that the test works out by itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import permutations

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from sqlalchemy import delete
from tests.bundle_kit import dump
from tests.ports.conftest import Database
from tests.visit_kit import T0

from asfound.errors import IntegrityError
from asfound.jobs.drive_register import list_drives
from asfound.model.bundle import Book, Bundle, order_key, plain_id
from asfound.model.hold import Hold
from asfound.model.journal import Entry, next_entry
from asfound.model.key_tick import KeyTick
from asfound.model.place_picture import PlacePicture
from asfound.ports.backends.store_sql import SqlStore
from asfound.ports.backends.store_tables import METADATA

OPENING = {
    "vehicle": {"number": "217"},
    "procedure": {"title": "P", "steps": [{"id": "end", "kind": "close", "title": "End"}]},
}


@pytest.fixture(scope="module")
def stores() -> Iterator[list[SqlStore]]:
    made = [SqlStore("sqlite://") for _ in range(3)]
    yield made
    for store in made:
        store.close()


@pytest.fixture
def one() -> Iterator[SqlStore]:
    made = SqlStore("sqlite://")
    yield made
    made.close()


def wipe(store: SqlStore) -> None:
    with store._engine.begin() as connection:
        for table in METADATA.sorted_tables:
            connection.execute(delete(table))


def everything(store: SqlStore) -> Bundle:
    """All that a store knows."""
    visits = store.visits()
    return Bundle(
        "",
        (*(e for visit in visits for e in store.entries(visit)), *store.set_aside(Book.VISIT)),
        (*store.request_entries(), *store.set_aside(Book.REQUEST)),
        tuple(replace(hold, id=plain_id(hold.id)) for hold in store.holds()),
        tuple(tick for visit in visits for tick in store.ticks(visit)),
        tuple(store.place_pictures("217")),
        (*store.drive_entries(), *store.set_aside(Book.DRIVE)),
    )


@dataclass(frozen=True)
class Move:
    """Somebody does something on one of two laptops."""

    kind: str
    on: int
    number: int
    minute: int


MOVES = st.builds(
    Move,
    st.sampled_from(
        ["open", "note", "note", "close", "sign", "hold", "release", "tick", "untick", "place",
         "ask", "answer", "end", "fit", "pull", "pull", "exchange"]
    ),
    st.integers(0, 1),
    st.integers(0, 1),
    st.integers(0, 6),
)  # fmt: skip


def play(  # noqa: C901 (a case a move)
    move: Move, stores: list[SqlStore], now: int
) -> None:
    store, by = stores[move.on], f"p{move.on}"
    # Clocks of two laptops differ, and may be set back.
    at = T0 + timedelta(minutes=move.minute if move.number else now)
    visit, asked = f"v{move.number}", f"ask-{move.number}"
    chain, log = store.entries(visit), store.request_entries(asked)
    closed = any(entry.kind == "closed" for entry in chain)
    step = {"step": "end", "note": ""}
    match move.kind:
        case "open" if not chain:
            store.append(next_entry((), visit, at, by, "opened", OPENING))
        case "note" if chain and not closed:
            store.append(next_entry(chain, visit, at, by, "noted", step))
        case "close" if chain and not closed:
            store.append(next_entry(chain, visit, at, by, "closed", step))
        case "sign" if closed:
            store.append(next_entry(chain, visit, at, by, "signed", {"role": "witness"}))
        case "hold" if f"h{move.number}" not in {hold.id for hold in store.holds()}:
            store.save_hold(Hold(f"h{move.number}", "217", T0, T0, "claim", by, at))
        case "release":
            held = [hold for hold in store.holds() if hold.active]
            for hold in held[move.number : move.number + 1]:
                done = {"released_by": by, "release_reason": "done", "released_at": at}
                store.save_hold(replace(hold, **done))  # type: ignore[arg-type]  # (by name)
        case "tick" | "untick" if chain:
            store.save_tick(KeyTick(visit, f"{move.number}a" * 12, move.kind == "tick", by, at))
        case "place":
            store.save_place_picture(PlacePicture("217", f"{move.minute}" * 64, by, at))
        case "ask" if not log:
            store.append_request(next_entry((), asked, at, by, "asked", {}))
        case "answer" | "end" if log and log[-1].kind != "closed":
            kind = "answered" if move.kind == "answer" else "closed"
            store.append_request(next_entry(log, asked, at, by, kind, {}))
        case "fit" | "pull":
            # Number 1 is a home folder that was copied: two laptops write one log.
            writer = "f" * 16 if move.number else f"{move.on}" * 16
            name = f"{writer}/s-{move.minute % 2}"
            kind = "fitted" if move.kind == "fit" else "pulled"
            told = {"vehicle": f"v{move.on}", "reason": "x"}
            store.append_drive(next_entry(store.drive_entries(name), name, at, by, kind, told))
        case "exchange":
            stores[1 - move.on].merge(everything(store))


def hashes(bundle: Bundle) -> set[str]:
    return {entry.hash for entry in (*bundle.visits, *bundle.requests, *bundle.drives)}


def first_release(bundles: list[Bundle]) -> dict[str, object]:
    found: dict[str, object] = {}
    for hold in (hold for bundle in bundles for hold in bundle.holds):
        key, at = order_key(hold), hold.released_at
        before = found.setdefault(key, at)
        if at is not None and (before is None or at < before):  # type: ignore[operator]  # (times)
            found[key] = at
    return found


@settings(
    max_examples=10,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(moves=st.lists(MOVES, min_size=6, max_size=26), data=st.data())
def test_two_laptops_and_an_office_end_with_the_same(
    stores: list[SqlStore], moves: list[Move], data: st.DataObject
) -> None:
    for store in stores:
        wipe(store)
    for now, move in enumerate(moves):
        play(move, stores, now)
    bundles = [everything(store) for store in stores[:2]]
    orders = [*permutations((0, 1)), (0, 1, 0), (1, 0, 0, 1)]
    for store in stores:
        for number in data.draw(st.sampled_from(orders)):
            store.merge(bundles[number])
    dumps = [dump(store) for store in stores]
    assert all(made == dumps[0] for made in dumps)
    whole = [everything(store) for store in stores]
    # Nothing is lost, and nothing comes from nowhere.
    assert hashes(whole[2]) == hashes(bundles[0]) | hashes(bundles[1])
    assert first_release([whole[2]]) == first_release(bundles)
    assert {(tick.visit, tick.mark) for tick in whole[2].ticks} == {
        (tick.visit, tick.mark) for bundle in bundles for tick in bundle.ticks
    }
    assert set(whole[2].places) == {one for bundle in bundles for one in bundle.places}
    # Every drive is where it is, whoever tells of it first.
    states = [list_drives(store, store) for store in stores]
    assert all(made == states[0] for made in states)
    # Said once more, nothing is new.
    for store in stores:
        for bundle in (*bundles, *whole):
            assert store.merge(bundle).nothing
        assert dump(store) == dumps[0]


def chain(visit: str, *kinds: str, by: str = "ada") -> tuple[Entry, ...]:
    made: tuple[Entry, ...] = ()
    for kind in kinds:
        data = OPENING if kind == "opened" else {"step": "end", "note": ""}
        made = (*made, next_entry(made, visit, T0, by, kind, data))
    return made


def test_a_branch_that_does_not_count_is_set_aside_and_told(one: SqlStore) -> None:
    short = chain("v", "opened", "closed", by="bo")
    long = chain("v", "opened", "noted", "closed")
    assert not one.merge(Bundle("", short)).forks
    made = one.merge(Bundle("", long))
    assert made.visits == ("v",) and made.entries == 3
    assert [(fork.book, fork.log, fork.entries) for fork in made.forks] == [(Book.VISIT, "v", 2)]
    assert tuple(one.entries("v")) == long and tuple(one.set_aside()) == short
    assert [line.entries for line in one.lines()] == [3]


def test_a_hold_locks_at_once_and_two_of_one_id_are_both_kept(one: SqlStore) -> None:
    mine = Hold("hold-217-1", "217", T0, T0, "claim", "ada", T0)
    other = Hold("hold-217-1", "217", T0, T0, "police", "bo", T0 + timedelta(hours=1))
    one.save_hold(mine)
    made = one.merge(Bundle("", holds=(other,)))
    assert made.holds == 1 and len(made.twins) == 1
    held = one.holds("217")
    assert [hold.reason for hold in held] == ["claim", "police"] and all(h.active for h in held)
    assert held[0].id == "hold-217-1" and held[1].id.startswith("hold-217-1~")
    done = {"released_by": "cy", "release_reason": "safe", "released_at": T0 + timedelta(days=1)}
    made = one.merge(Bundle("", holds=(replace(other, **done),)))  # type: ignore[arg-type]  # (by name)
    assert (made.holds, made.releases) == (0, 1)
    assert [hold.active for hold in one.holds("217")] == [True, False]


def test_all_of_a_bundle_is_taken_in_or_nothing(one: SqlStore) -> None:
    before = dump(one)
    place = PlacePicture("217", "a" * 64, "ada", T0)
    twice = chain("w", "opened", "closed")
    # The same hash under another id cannot be kept: the last statement fails, after all others.
    forged = replace(twice[0], visit="x")
    with pytest.raises(IntegrityError):
        one.merge(Bundle("", (*chain("v", "opened", "closed"), *twice, forged), places=(place,)))
    assert dump(one) == before


def test_a_chain_that_was_altered_here_is_told_before_it_is_merged(one: SqlStore) -> None:
    stored = chain("v", "opened", "noted", "closed")
    one.merge(Bundle("", stored))
    with one._engine.begin() as connection:
        connection.exec_driver_sql("UPDATE entry SET \"by\" = 'eve' WHERE seq = 1")
    late = (*stored, next_entry(stored, "v", T0, "bo", "signed", {"role": "witness"}))
    with pytest.raises(IntegrityError, match="visit v, as stored here: entry 1"):
        one.merge(Bundle("", late))


def test_an_office_on_any_database_ends_with_what_two_laptops_know(database: Database) -> None:
    """Two laptops with files of their own, the office on each back-end."""
    laptops, offices = [SqlStore("sqlite://") for _ in range(2)], [database.open() for _ in "12"]
    story = ("open", "hold", "ask", "fit", "place", "exchange", "note", "tick", "pull", "close")
    for now, kind in enumerate((*story, "sign", "release", "answer")):
        for on in (0, 1):
            play(Move(kind, on, 1, now % 7), laptops, now)
    bundles = [everything(store) for store in laptops]
    for number in (1, 0, 1):
        # Two programs at once on one database.
        offices[number].merge(bundles[number])
    for number in (0, 1):
        laptops[number].merge(bundles[1 - number])
    made = dump(offices[0])
    assert made == dump(laptops[0]) == dump(laptops[1])
    assert made["drives"] and made["holds"] and made["aside"]
    assert all(offices[0].merge(bundle).nothing for bundle in bundles)
    for store in (*laptops, *offices):
        store.close()
