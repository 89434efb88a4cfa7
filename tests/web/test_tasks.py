"""Work behind pages: progress, stopping, failing; and the news about it."""

from __future__ import annotations

import asyncio
import json
import threading
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from tests.visit_kit import T0, VEHICLE, desk, opened

from asfound.errors import NotFound, PictureError, UsageError
from asfound.jobs.holds import PlaceHold, ReleaseHold, place_hold, release_hold
from asfound.jobs.visit_act import AddNote, note
from asfound.jobs.visit_journal import load_visit
from asfound.ports.progress import Progress
from asfound.web.events import Hub, Subject, holds_stamp
from asfound.web.tasks import Tasks

LONG_S = 20.0


def pieces(progress: Progress) -> str:
    for number in range(3):
        progress(number + 1, 3, f"piece {number}")
    return "3 pieces"


def made() -> tuple[Tasks, list[str]]:
    told: list[str] = []
    return Tasks(told.append), told


def test_work_tells_its_progress_and_its_outcome() -> None:
    tasks, told = made()
    task = tasks.wait(tasks.start("read", "v", "Reading", pieces).id, LONG_S)
    assert (task.state, task.done, task.total, task.message) == ("done", 3, 3, "3 pieces")
    assert told == ["v"] * 5
    assert tasks.of("v", task.version) == []


def test_work_is_stopped_after_the_piece_at_hand() -> None:
    tasks, _ = made()
    begun, go = threading.Event(), threading.Event()

    def work(progress: Progress) -> str:
        progress(1, 9, "first")
        begun.set()
        go.wait(LONG_S)
        progress(2, 9, "second")
        raise AssertionError("not reached")

    task = tasks.start("prove", "v", "Looking", work)
    assert begun.wait(LONG_S)
    with pytest.raises(UsageError, match="under way already"):
        tasks.start("prove", "v", "Looking", work)
    tasks.stop(task.id)
    go.set()
    assert tasks.wait(task.id, LONG_S).state == "stopped"


def failing(error: Exception) -> Callable[[Progress], str]:
    def work(progress: Progress) -> str:
        raise error

    return work


def test_failed_work_says_why_and_faults_are_not_shown() -> None:
    tasks, _ = made()
    named = tasks.start("a", "v", "A", failing(PictureError("x.jpg: is no picture")))
    assert tasks.wait(named.id, LONG_S).message == "x.jpg: is no picture"
    fault = tasks.start("b", "v", "B", failing(ValueError("secret path")))
    ended = tasks.wait(fault.id, LONG_S)
    assert ended.state == "failed" and "secret" not in ended.message
    with pytest.raises(NotFound):
        tasks.get("nobody")


def test_news_goes_on_where_a_browser_left(tmp_path: Path) -> None:
    at = desk(tmp_path, f"sqlite:///{tmp_path / 'asfound.db'}")
    visit = opened(at).id
    hub = Hub(at.store)
    tasks = Tasks(hub.wake)

    async def events(last: str, count: int) -> list[str]:
        stream = hub.stream(Subject(visit, "217"), last, tasks, lambda: True)
        found: list[str] = []
        async for item in stream:
            if item.startswith(b"event"):
                found.append(item.decode())
            if len(found) == count:
                break
        await stream.aclose()  # type: ignore[attr-defined] # an async generator can be closed
        return found

    async def story() -> None:
        (first,) = await events("", 1)
        assert first.startswith("event: journal\n") and '"entries": 1' in first
        last = first.split("id: ")[1].split("\n")[0]
        note(AddNote(visit, "ada", "seen"), desk=at)
        task = tasks.start("read", visit, "Reading", pieces)
        tasks.wait(task.id, LONG_S)
        moved, done = await events(last, 2)
        assert '"entries": 2' in moved
        assert '"state": "done"' in done
        newest = done.split("id: ")[1].split("\n")[0]
        # What was seen is not told again; a server that was started anew tells tasks from 0.
        waiting = asyncio.create_task(events(newest, 1))
        await asyncio.sleep(0.05)
        note(AddNote(visit, "ada", "later"), desk=at)
        hub.wake(visit)
        (later,) = await asyncio.wait_for(waiting, LONG_S)
        assert '"entries": 3' in later
        hub.close()
        assert await events("", 1) == []

    asyncio.run(story())


def test_whoever_is_let_in_no_more_hears_nothing_more(tmp_path: Path) -> None:
    at = desk(tmp_path, f"sqlite:///{tmp_path / 'asfound.db'}")
    visit = opened(at).id
    hub = Hub(at.store)
    welcome = iter([True, False])

    async def story() -> list[bytes]:
        # The stream ends by itself: nobody closes it.
        stream = hub.stream(Subject(visit, "217"), "", Tasks(hub.wake), lambda: next(welcome))
        return [item async for item in stream]

    told = asyncio.run(asyncio.wait_for(story(), LONG_S))
    assert sum(item.startswith(b"event: journal") for item in told) == 1


def test_a_hold_that_is_placed_meanwhile_is_news(tmp_path: Path) -> None:
    at = desk(tmp_path, f"sqlite:///{tmp_path / 'asfound.db'}")
    visit = opened(at).id
    hub = Hub(at.store)
    stamps: list[str] = []

    async def story() -> None:
        stream = hub.stream(Subject(visit, "217"), "", Tasks(hub.wake), lambda: True)
        hold = None
        async for item in stream:
            text = item.decode()
            if text.startswith("event: journal"):
                order = PlaceHold(VEHICLE, T0, T0 + timedelta(hours=1), "claim", "office")
                hold = place_hold(order, store=at.store, clock=at.clock)
            if text.startswith("event: holds") and hold is not None:
                stamps.append(json.loads(text.partition("data: ")[2])["stamp"])
                if len(stamps) == 2:
                    break
                # What the page shows is made of the visit's own holds: it must be the same.
                state = load_visit(visit, store=at.store, blobs=at.blobs)
                assert holds_stamp(state.holds) == stamps[0] != ""
                release = ReleaseHold(hold.id, "bo", "copied")
                release_hold(release, store=at.store, clock=at.clock)
        await stream.aclose()  # type: ignore[attr-defined] # an async generator can be closed

    asyncio.run(asyncio.wait_for(story(), LONG_S))
    assert stamps[1] == ""
