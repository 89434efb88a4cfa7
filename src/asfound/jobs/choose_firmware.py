"""The right firmware image for one recorder, and the shortest way to it, with every reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from asfound.calc.firmware_path import Known, barred, shortest_way
from asfound.calc.version_order import Key, version_key
from asfound.errors import NotFound, UsageError
from asfound.model.firmware import (
    EVERY_FLEET,
    Answer,
    Catalogue,
    FirmwareChosen,
    FirmwareStep,
    Image,
    ModelFirmware,
    Rejected,
    RejectedImage,
)


@dataclass(frozen=True, slots=True)
class ChooseFirmware:
    """``fleet`` "": only images that every fleet may have. ``to``: this version and no other, also
    an older one; "": the newest, never back."""

    catalogue: Catalogue
    map_id: str
    hardware: str
    installed: str
    fleet: str = ""
    to: str = ""


@dataclass(frozen=True, slots=True)
class _Case:
    request: ChooseFirmware
    model: ModelFirmware
    known: Known

    def rank(self, version: str) -> Key:
        return version_key(self.model.scheme, version)


def choose_firmware(request: ChooseFirmware) -> FirmwareChosen:
    """The answer. Raises NotFound (a model or version that the catalogue lacks), UsageError."""
    if not request.hardware:
        raise UsageError(unknown_hardware(request))
    case = _case(request)
    every = request.catalogue.images_of(request.map_id)
    rejected = [RejectedImage(one, *why) for one in every if (why := _unusable(case, one))]
    left = [image for image in every if image in case.known.usable]
    left.sort(key=lambda image: case.rank(image.version), reverse=True)
    way: tuple[Image, ...] = ()
    goal: Image | None = None
    staying = False
    for image in left:
        if goal is None and not staying and (why := _unwanted(case, image)) is None:
            found = shortest_way(request.installed, image, case.known)
            if found is not None:
                way, goal = found, image
                continue
            rejected.append(RejectedImage(image, Rejected.NO_WAY, _no_way(case, image)))
            continue
        why = _unwanted(case, image) or _beaten(image, way, request.installed)
        staying = staying or (why[0] is Rejected.INSTALLED and not request.to)
        rejected.append(RejectedImage(image, *why))
    steps = _steps(case, way)
    answer = Answer.GO if goal else _without(case, left)
    return FirmwareChosen(
        answer,
        steps,
        tuple(sorted(rejected, key=lambda one: case.rank(one.image.version), reverse=True)),
        _findings(case, answer, way),
        _file_name_trap(every, goal, rejected, request.installed),
    )


def unknown_hardware(request: ChooseFirmware) -> str:
    """That the revision has to be read off the label first, and what hangs on it, in one line."""
    names = dict.fromkeys(
        name for one in request.catalogue.images_of(request.map_id) for name in one.hardware
    )
    return (
        f"the recorder's hardware is not known, and images are for {', '.join(names) or 'none'}; "
        "read it off the label and give it with --hardware, or put it into the fleet file"
    )


def _case(request: ChooseFirmware) -> _Case:
    model = request.catalogue.model(request.map_id)
    if model is None:
        known = ", ".join(one.map_id for one in request.catalogue.models)
        raise NotFound(f"the firmware catalogue has no model {request.map_id!r}; it knows {known}")
    for name, version in (("installed", request.installed), ("to", request.to)):
        if not version and name == "to":
            continue
        try:
            version_key(model.scheme, version)
        except ValueError as error:
            raise UsageError(f"--{name}: {error}; give it as the recorder shows it") from None
    fits = [
        image
        for image in request.catalogue.images_of(request.map_id)
        if request.hardware in image.hardware
    ]
    usable = [
        image for image in fits if image.withdrawn is None and image.approved_for(request.fleet)
    ]
    case = _Case(request, model, Known(lambda text: version_key(model.scheme, text), usable, fits))
    wanted = request.to and case.rank(request.to)
    if wanted and all(case.rank(image.version) != wanted for image in fits):
        raise NotFound(
            f"no image of {request.to} for hardware {request.hardware}; "
            "asfound firmware list shows them"
        )
    return case


def _unusable(case: _Case, image: Image) -> tuple[Rejected, str] | None:
    """Why an image must not be used here at all, whatever is installed."""
    request = case.request
    reasons: list[tuple[Rejected, str]] = []
    if request.hardware not in image.hardware:
        made = ", ".join(image.hardware)
        reasons.append(
            (Rejected.HARDWARE, f"is for hardware {made}, the recorder is {request.hardware}")
        )
    if image.withdrawn:
        gone = image.withdrawn
        reasons.append((Rejected.WITHDRAWN, f"withdrawn on {gone.on}: {gone.why}"))
    if not image.approved_for(request.fleet):
        whom = request.fleet or "every fleet (none was named)"
        reasons.append((Rejected.UNAPPROVED, f"not approved for {whom}"))
    return (reasons[0][0], "; ".join(text for _, text in reasons)) if reasons else None


def _unwanted(case: _Case, image: Image) -> tuple[Rejected, str] | None:
    """Why a usable image is not what is looked for."""
    request = case.request
    rank, now = case.rank(image.version), case.rank(request.installed)
    if rank == now:
        return Rejected.INSTALLED, "is installed"
    if request.to:
        if rank != case.rank(request.to):
            return Rejected.NOT_ASKED, f"{request.to} was asked for"
    elif rank < now:
        lines = barred(image, request.installed, case.known)
        said = f"older than the installed {request.installed}"
        return Rejected.OLDER, "; ".join((said, *lines))
    return None


def _beaten(image: Image, way: Sequence[Image], installed: str) -> tuple[Rejected, str]:
    if image in way:
        return Rejected.NOT_NEWEST, f"a step on the way to {way[-1].version} only"
    return Rejected.NOT_NEWEST, f"{way[-1].version if way else installed} is newer"


def _no_way(case: _Case, image: Image) -> str:
    lines = barred(image, case.request.installed, case.known)
    return "; ".join(("no allowed way leads there", *lines))


def _steps(case: _Case, way: Sequence[Image]) -> tuple[FirmwareStep, ...]:
    over = case.request.installed
    steps = []
    for image in way:
        steps.append(FirmwareStep(image, over, _reasons(case, image, over, image is way[-1])))
        over = image.version
    return tuple(steps)


def _reasons(case: _Case, image: Image, over: str, last: bool) -> tuple[str, ...]:
    request = case.request
    lines = [f"for hardware {request.hardware}"]
    good = next(one for one in image.approved if one.fleet in (request.fleet, EVERY_FLEET))
    whom = "every fleet" if good.fleet == EVERY_FLEET else good.fleet
    lines.append(f"approved for {whom} by {good.by} on {good.on}")
    if image.needs:
        lines.append(f"needs at least {image.needs}: {over} is")
    if image.stones:
        lines.append(f"goes only over {' or '.join(image.stones)}: {over} is")
    if not last:
        lines.append("a step on the shortest way")
    elif request.to:
        lines.append("asked for")
    else:
        lines.append("the newest that is allowed and can be reached")
    return tuple(lines)


def _without(case: _Case, left: Sequence[Image]) -> Answer:
    """Nothing was chosen: is what is installed right, or does nothing fit?"""
    request = case.request
    now = case.rank(request.installed)
    wanted = case.rank(request.to) if request.to else now
    right = any(case.rank(image.version) == now for image in left) and wanted == now
    newer = not request.to and any(case.rank(image.version) > now for image in left)
    return Answer.STAY if right and not newer else Answer.NONE


def _findings(case: _Case, answer: Answer, way: Sequence[Image]) -> tuple[str, ...]:
    """What a person has to look at."""
    request = case.request
    now = case.rank(request.installed)
    same = [one for one in case.known.same_hardware if case.rank(one.version) == now]
    lines = [
        f"the installed {one.version} was withdrawn on {one.withdrawn.on}: {one.withdrawn.why}"
        for one in same
        if one.withdrawn
    ]
    field = {case.rank(version) for version in case.model.in_field}
    if not same and now not in field:
        lines.append(
            f"the catalogue has no image of the installed {request.installed} for hardware "
            f"{request.hardware}: what it forbids is not known"
        )
    if not case.known.same_hardware:
        lines.append(f"no image is for hardware {request.hardware}")
    if answer is Answer.NONE:
        lines.append("no image may be put on; see why each was rejected")
    for image in way:
        lines.extend(f"known trouble of {image.version}: {text}" for text in image.troubles)
        if case.rank(image.version) < now:
            lines.append(f"{image.version} is older than the installed {request.installed}")
    return tuple(lines)


def _file_name_trap(
    every: Sequence[Image],
    goal: Image | None,
    rejected: Sequence[RejectedImage],
    installed: str,
) -> tuple[str, ...]:
    """A warning where the last name of the folder's list is not the right image.

    The only place that looks at names of files, and only after the answer stands.
    """
    if not every:
        return ()
    highest = max(every, key=lambda image: image.file)
    if highest == goal:
        return ()
    why = next(one for one in rejected if one.image == highest)
    if why.why is Rejected.INSTALLED:
        return ()
    right = f"the right one is {goal.file} ({goal.version})" if goal else f"{installed} stays on"
    return (
        f"the highest file name, {highest.file} ({highest.version}), would be wrong: "
        f"{why.note}; {right}",
    )
