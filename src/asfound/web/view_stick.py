"""A stick as pages show it: what was found of it, and which image may go on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from asfound.errors import AsfoundError
from asfound.jobs.stick_see import StickSeen
from asfound.jobs.vehicle_firmware import WayAsked
from asfound.model.firmware import Image
from asfound.model.stick import Entry, Slip, StickFacts, StickFinding
from asfound.web.services import Services
from asfound.web.sticking import StickOutcome, image_for_stick, known_image
from asfound.web.view_firmware import map_name, newest_first, way_view

SHOWN = 40
"""Things on a stick that are listed; of the others the number is told."""


@dataclass(frozen=True, slots=True)
class StickView:
    """What was last found. ``verdict`` "": it was only looked at. ``now``: hash of the image as it
    is; ``known``: the catalogue's image with that content. ``withdrawn``: the catalogue says so
    by now."""

    outcome: StickOutcome
    verdict: str
    facts: StickFacts
    slip: Slip | None
    now: str
    known: Image | None
    model: str
    past: str
    findings: tuple[StickFinding, ...]
    seen: StickSeen | None
    others: tuple[Entry, ...]
    more: int
    added: tuple[Entry, ...]
    removed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ImageChoice:
    """An image that this fleet may have; ``here``: its file is in the home folder."""

    image: Image
    name: str
    here: bool


@dataclass(frozen=True, slots=True)
class WantedImage:
    """An image that somebody chose: where it will lie, or what keeps it from there. ``vehicle``:
    for whom; ``on_way``: it is a step of that vehicle's way (None: no vehicle was named, or its
    way could not be told)."""

    image: Image | None
    path: str
    recorder: str
    error: str
    vehicle: str = ""
    on_way: bool | None = None


def stick_view(outcome: StickOutcome | None, services: Services) -> StickView | None:
    """What was found; None when nothing was yet."""
    if outcome is None:
        return None
    seen, checked, prepared = outcome.seen, outcome.checked, outcome.prepared
    made = checked or prepared
    facts = seen.facts if seen is not None else made.facts if made is not None else None
    if facts is None:
        return None
    slip = checked.slip if checked is not None else seen.slip if seen is not None else None
    now = made.sha256 if made is not None else ""
    others = seen.others if seen is not None else prepared.others if prepared is not None else ()
    findings = (*(made.findings if made is not None else ()), *_kinds(outcome))
    try:
        known = known_image(services.shelf.catalogue(), now)
    except AsfoundError:
        known = None
    return StickView(
        outcome,
        made.verdict.value if made is not None else "",
        facts,
        slip,
        now,
        known,
        map_name(known.map_id, services) if known is not None else "",
        made.past if made is not None else "",
        tuple(dict.fromkeys(findings)),
        seen,
        others[:SHOWN],
        max(0, len(others) - SHOWN),
        checked.added[:SHOWN] if checked is not None else (),
        prepared.removed if prepared is not None else (),
    )


def images_here(services: Services) -> Sequence[ImageChoice]:
    """Images that this fleet may have, by model, newest first; none without a sound catalogue."""
    try:
        made, fleet = services.shelf.catalogue(), services.shelf.fleet()
    except AsfoundError:
        return ()
    if made is None:
        return ()
    return [
        ImageChoice(image, map_name(image.map_id, services), services.sticks.has_image(image.file))
        for model in made.models
        for image in newest_first(made, model.map_id)
        if image.withdrawn is None and image.approved_for(fleet.name)
    ]


def way_of(number: str, file: str, services: Services) -> WantedImage | None:
    """The image that was chosen, beside the vehicle that it is for; None when none was."""
    if not file:
        return None
    try:
        image, place, recorder = image_for_stick(file, services)
    except AsfoundError as error:
        return WantedImage(None, "", "", str(error), number)
    path = f"{place.folder}/{image.file}" if place.folder else image.file
    on_way: bool | None = None
    if number:
        try:
            chosen = way_view(number, WayAsked(), services).chosen
        except AsfoundError:
            chosen = None
        if chosen is not None:
            on_way = any(step.image.file == file for step in chosen.steps)
    return WantedImage(image, path, recorder, "", number, on_way)


def _kinds(outcome: StickOutcome) -> tuple[StickFinding, ...]:
    return outcome.seen.findings if outcome.seen is not None else ()
