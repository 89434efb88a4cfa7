"""A bundle that is packed or taken in, killed or refused at each single change.

Changes are those of files (tests/fault_layer.py), and each statement that writes: a kill
between two of them is a pulled plug as far as the database can tell (SQLite's own tests of atomic
commit stand behind it: sqlite.org/atomiccommit.html, from memory).
"""

from __future__ import annotations

import errno
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import event
from tests.bundle_kit import KEY, Laptop, dump, laptop, small_visit, with_more
from tests.fault_layer import Layer, all_killed, quick_folder

from asfound.errors import AsfoundError, UsageError
from asfound.jobs.bag_verify import verify_bag
from asfound.jobs.visit_check import check_visit
from asfound.ports.backends.bag_disk import DiskBag
from asfound.ports.backends.signatures_ed25519 import Ed25519


@pytest.fixture
def quick() -> Iterator[Path]:
    with quick_folder() as folder:
        yield folder


def at_home(folder: Path) -> Laptop:
    """The laptop in a folder, its database a file."""
    return laptop(folder, f"sqlite:///{folder / 'asfound.db'}")


def packed(folder: Path) -> Laptop:
    """A home with a visit, its bag, and an empty home to begin with."""
    here = at_home(folder / "here")
    with_more(here, small_visit(here))
    here.export(folder / "bag", *here.store.visits())
    at_home(folder / "blank").store.close()
    return here


def with_home(place: Path) -> None:
    """Before it is killed: an empty home."""
    shutil.copytree(place.parent / "blank", place / "home")


def act(place: Path) -> None:
    """Take the bag in, every statement that writes to the database a change."""
    home = at_home(place / "home")
    with open(os.devnull, "wb") as nothing:  # noqa: PTH123 (the path of os)

        def counted(*_: object) -> None:
            os.utime(nothing.fileno())

        def executed(_: object, __: object, statement: str, *___: object) -> None:
            # Between two that only read a kill finds the same as before the next that writes.
            if not statement.startswith(("SELECT", "PRAGMA")):
                counted()

        engine = home.store._engine
        event.listen(engine, "before_cursor_execute", executed)
        event.listen(engine, "commit", counted)
        home.take(place.parent / "bag")
        counted()


def known(place: Path, whole: dict[str, object]) -> bool:
    """Whether the visit is here; then all of it is, else nothing of any record."""
    home = at_home(place / "home")
    visits = home.store.visits()
    if visits:
        assert dump(home.store) == whole
        assert check_visit(visits[0], store=home.store, blobs=home.blobs).faults == ()
    else:
        assert not home.store.holds() and not home.store.request_entries()
        assert not home.store.place_pictures("217") and not home.store.set_aside()
    home.store.close()
    return bool(visits)


def test_killed_at_every_change_a_visit_is_here_whole_or_not_at_all(quick: Path) -> None:
    whole = dump(packed(quick).store)
    places = all_killed("tests.journeys.test_bundle_crash", quick, "with_home")
    # Two blobs, and the statements of one transaction.
    assert len(places) > 20
    here = [known(place, whole) for place in places]
    # It is here from the commit on, and that is the last change but the one that `act` adds.
    assert here == [False] * (len(here) - 1) + [True]
    for place in [*places[::5], places[-2]]:
        home = at_home(place / "home")
        home.take(quick / "bag")
        home.store.close()
        assert known(place, whole)


@pytest.mark.parametrize(("how", "code"), [("full", errno.ENOSPC), ("once", errno.EIO)])
def test_refused_at_every_change_the_next_run_goes_on(
    quick: Path, monkeypatch: pytest.MonkeyPatch, how: str, code: int
) -> None:
    here = packed(quick)
    whole = dump(here.store)
    at, told = 0, set()
    while True:
        at += 2 if how == "full" else 1
        place = quick / f"{how}-{at}"
        place.mkdir()
        with_home(place)
        home = at_home(place / "home")
        layer = Layer(at, how, code)
        with monkeypatch.context() as patched:
            layer.install(patched.setattr)
            try:
                home.take(quick / "bag")
            except AsfoundError as error:
                told.add(str(error).partition(": ")[2])
        home.store.close()
        if layer.count < at:
            break
        known(place, whole)
        home = at_home(place / "home")
        home.take(quick / "bag")
        home.store.close()
        assert known(place, whole)
    assert at > 10 and told


def test_refused_at_every_change_there_is_no_bag_and_the_next_run_makes_it(
    quick: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here = packed(quick)
    before = dump(here.store)
    at = 0
    while True:
        at += 1
        bag = quick / f"bag-{at}"
        layer = Layer(at, "full", errno.ENOSPC)
        with monkeypatch.context() as patched:
            layer.install(patched.setattr)
            try:
                here.export(bag, *here.store.visits())
            except AsfoundError:
                assert not bag.exists() or not faults(bag)
        if layer.count < at:
            break
        if bag.exists():
            with pytest.raises(UsageError, match="is there already and is left alone"):
                here.export(bag, *here.store.visits())
        else:
            here.export(bag, *here.store.visits())
        assert not faults(bag) and not bag.with_name(bag.name + ".unfinished").exists()
        assert dump(here.store) == before
    assert at > 20 and not faults(bag)


def faults(bag: Path) -> tuple[object, ...]:
    return verify_bag(DiskBag(bag), signatures=Ed25519(), key=KEY.public).faults
