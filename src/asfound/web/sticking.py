"""Firmware sticks from a page: looked at, and one image put on, in places named at the start."""

from __future__ import annotations

import threading
from dataclasses import dataclass, replace
from datetime import datetime

from asfound.errors import NotFound, UsageError
from asfound.jobs.stick_check import check_stick
from asfound.jobs.stick_look import checked_sha256
from asfound.jobs.stick_prepare import PrepareStick, StickTools, prepare_stick
from asfound.jobs.stick_see import StickSeen, see_stick
from asfound.jobs.vehicle_firmware import allowed_image
from asfound.jobs.visit_journal import named
from asfound.model.firmware import Catalogue, Image
from asfound.model.menu_map import FirmwarePlace
from asfound.model.stick import StickChecked, StickPrepared, StickVerdict
from asfound.ports.progress import Progress
from asfound.web.problems import Problem
from asfound.web.proving import Asking
from asfound.web.services import Services, StickPlace
from asfound.web.step_pages import N_
from asfound.web.tasks import Task, Tasks
from asfound.web.view_firmware import map_of

KIND = "stick"
CHECKING = N_("Looking at the stick")
PREPARING = N_("Preparing the stick")


@dataclass(frozen=True, slots=True)
class StickOutcome:
    """What was last found of a stick, at ``at``: looked at, checked, or prepared."""

    at: datetime
    seen: StickSeen | None = None
    checked: StickChecked | None = None
    prepared: StickPrepared | None = None


class StickBook:
    """What was found of each stick since the server was started; news, nothing that must last: the
    slip on the stick does."""

    def __init__(self) -> None:
        self._found: dict[str, StickOutcome] = {}
        self._lock = threading.Lock()

    def get(self, key: str) -> StickOutcome | None:
        """What was last found of the stick in a place."""
        with self._lock:
            return self._found.get(key)

    def put(self, key: str, found: StickOutcome | None) -> None:
        """Keep what was found; None: what was found before counts no more."""
        with self._lock:
            if found is None:
                self._found.pop(key, None)
            else:
                self._found[key] = found


@dataclass(frozen=True, slots=True)
class StickWork:
    """What work on a stick needs: whoever asks, the server's tasks and what it found."""

    asking: Asking
    tasks: Tasks
    book: StickBook


def subject_of(key: str) -> str:
    """What tasks about a stick are about."""
    return f"stick-{key}"


def stick_place(key: str, services: Services) -> StickPlace:
    """A place by its key. Raises NotFound."""
    for place in services.sticks.places():
        if place.key == key:
            return place
    raise NotFound("no such stick; choose one from the list")


def last_task(key: str, tasks: Tasks) -> Task | None:
    """The last work on the stick in a place."""
    mine = tasks.of(subject_of(key))
    return mine[-1] if mine else None


def stop_stick(key: str, task_id: str, tasks: Tasks) -> None:
    """Ask for the end of it. Raises NotFound unless it is this stick's."""
    task = tasks.get(task_id)
    if task.subject != subject_of(key):
        raise NotFound("this stick has no such work under way; load the page again")
    tasks.stop(task_id)


def start_check(key: str, sha256: str, work: StickWork) -> Task:
    """Begin to look at a stick and hold its image against the slip, and ``sha256`` unless "".

    Raises Problem for anybody but this machine, NotFound, UsageError (under way already).
    """
    services = work.asking.services
    _local(work)
    place, wanted = stick_place(key, services), checked_sha256(sha256.strip())
    recorders = recorder_places(services)

    def look(progress: Progress) -> str:
        work.book.put(key, None)
        now = services.desk.clock.now()
        seen = see_stick(recorders, stick=services.sticks.stick(key))
        found = StickOutcome(now, seen)
        work.book.put(key, found)
        checked = check_stick(wanted, stick=services.sticks.stick(key), progress=progress)
        work.book.put(key, replace(found, checked=checked))
        return checked.verdict.value

    return work.tasks.start(KIND, subject_of(place.key), CHECKING, look)


def start_prepare(key: str, file: str, by: str, work: StickWork) -> Task:
    """Begin to put an image of the catalogue on a stick.

    Raises Problem for anybody but this machine, NotFound, UsageError (an image that the fleet may
    not have, no name, no place in the menu map, under way already).
    """
    services = work.asking.services
    _local(work)
    place, name = stick_place(key, services), named(by)
    image, where, recorder = image_for_stick(file, services)
    source = services.sticks.image(key, image.file)
    recorders = recorder_places(services)
    request = PrepareStick(where, recorder, name, sha256=image.sha256)

    def put_on(progress: Progress) -> str:
        work.book.put(key, None)
        sticks, clock = services.sticks, services.desk.clock
        tools = StickTools(sticks.stick(key), sticks.space(key), clock, progress)
        made = prepare_stick(request, image=source, tools=tools)
        found = StickOutcome(clock.now(), prepared=made)
        work.book.put(key, found)
        if made.verdict is StickVerdict.PREPARED:
            seen = see_stick(recorders, stick=sticks.stick(key))
            work.book.put(key, replace(found, seen=seen))
        return made.verdict.value

    return work.tasks.start(KIND, subject_of(place.key), PREPARING, put_on)


def image_for_stick(file: str, services: Services) -> tuple[Image, FirmwarePlace, str]:
    """(image of the catalogue, where its recorder looks, the recorder's name). Raises NotFound,
    UsageError, MapError."""
    catalogue = services.shelf.catalogue()
    if catalogue is None:
        raise NotFound("there is no firmware catalogue; see the page Firmware")
    image = allowed_image(catalogue, services.shelf.fleet().name, file)
    menu_map = services.shelf.menu_map(image.map_id)
    if menu_map.firmware_file is None:
        raise UsageError(
            f"menu map {menu_map.id} does not say where the recorder looks for firmware; add "
            "[firmware_file] to it"
        )
    return image, menu_map.firmware_file, f"{menu_map.maker} {menu_map.model}"


def recorder_places(services: Services) -> tuple[tuple[str, FirmwarePlace], ...]:
    """Where each recorder of the fleet looks for firmware, by its name."""
    found = {one.recorder.map_id for one in services.shelf.fleet().vehicles}
    maps = [map_of(map_id, services) for map_id in sorted(found)]
    return tuple(
        (f"{one.maker} {one.model}", one.firmware_file)
        for one in maps
        if one is not None and one.firmware_file is not None
    )


def known_image(catalogue: Catalogue | None, sha256: str) -> Image | None:
    """The image of the catalogue with this content."""
    images = catalogue.images if catalogue is not None and sha256 else ()
    return next((one for one in images if one.sha256 == sha256), None)


def _local(work: StickWork) -> None:
    if not work.asking.visitor.local:
        raise Problem(403, "sticks are looked at from the laptop that they are plugged into")
