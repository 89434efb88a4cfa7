"""Contradictions inside a firmware catalogue: what no recorder could ever follow."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from asfound.calc.version_order import Key, version_key
from asfound.model.firmware import Catalogue, Image, ModelFirmware

Conflict = tuple[int, str, str]
"""(number of the image from 0, its key in the file, what is wrong)."""


@dataclass(frozen=True, slots=True)
class _One:
    at: int
    image: Image
    rank: Key


def conflicts(catalogue: Catalogue) -> Iterator[Conflict]:
    """Every contradiction; every version has to be one of its scheme already."""
    for model in catalogue.models:
        ones = [
            _One(at, image, version_key(model.scheme, image.version))
            for at, image in enumerate(catalogue.images)
            if image.map_id == model.map_id
        ]
        yield from _twice(ones)
        for one in ones:
            yield from _own_rules(one, model)
            yield from _reached(one, ones, model)
        yield from _circles(ones, model)


def _shared(one: Image, other: Image) -> bool:
    return bool({*one.hardware} & {*other.hardware})


def _twice(ones: Sequence[_One]) -> Iterator[Conflict]:
    for at, one in enumerate(ones):
        for other in ones[:at]:
            if one.rank != other.rank or not _shared(one.image, other.image):
                continue
            said = f"{one.image.version} stands in image {other.at + 1}, too"
            if one.image.sha256 != other.image.sha256:
                yield one.at, "sha256", f"{said}, with another SHA-256; find out which is right"
            else:
                yield one.at, "version", f"{said}, for the same hardware; keep one of them"


def _own_rules(one: _One, model: ModelFirmware) -> Iterator[Conflict]:
    image = one.image
    if image.needs and version_key(model.scheme, image.needs) >= one.rank:
        yield one.at, "needs", f"{image.needs} is not older than the image itself; correct it"
    if image.floor and version_key(model.scheme, image.floor) > one.rank:
        yield one.at, "floor", f"{image.floor} is newer than the image itself; correct it"
    gone = image.withdrawn
    late = [good for good in image.approved if gone is not None and good.on >= gone.on]
    for good in late:
        yield (
            one.at,
            "approved",
            (f"approved for {good.fleet} on {good.on}, withdrawn by then; remove one of both"),
        )


def _reached(one: _One, ones: Sequence[_One], model: ModelFirmware) -> Iterator[Conflict]:
    """What an image asks for has to be there: as an image for its hardware, or in the field."""
    field = {version_key(model.scheme, version) for version in model.in_field}
    there = field | {
        other.rank for other in ones if other is not one and _shared(one.image, other.image)
    }
    for stone in one.image.stones:
        if version_key(model.scheme, stone) not in there:
            yield one.at, "stones", f"there is no image of {stone} for this hardware; add it"
    if one.image.needs:
        needs = version_key(model.scheme, one.image.needs)
        if needs < one.rank and not any(needs <= rank < one.rank for rank in there):
            yield (
                one.at,
                "needs",
                (
                    f"nothing reaches {one.image.needs}: no older image is that new; add one, "
                    "or name the version in in_field of its model"
                ),
            )


def _circles(ones: Sequence[_One], model: ModelFirmware) -> Iterator[Conflict]:
    """Stones that lead back to themselves, where no version in the field leads in."""
    for hardware in sorted({name for one in ones for name in one.image.hardware}):
        here = [one for one in ones if hardware in one.image.hardware]
        over: Mapping[Key, frozenset[Key]] = {
            one.rank: frozenset(version_key(model.scheme, stone) for stone in one.image.stones)
            for one in here
        }
        for one in here:
            if _leads_back(one.rank, over):
                yield (
                    one.at,
                    "stones",
                    (
                        f"the stepping stones of {one.image.version} lead back to it in a circle; "
                        "correct them"
                    ),
                )


def _leads_back(start: Key, over: Mapping[Key, frozenset[Key]]) -> bool:
    seen: set[Key] = set()
    left = list(over.get(start, ()))
    while left:
        at = left.pop()
        if at == start:
            return True
        if at not in seen:
            seen.add(at)
            left.extend(over.get(at, ()))
    return False
