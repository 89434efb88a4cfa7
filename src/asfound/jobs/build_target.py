"""Build the target: what each setting should be, and who says so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from asfound.calc.open_values import value_problem
from asfound.errors import InputError
from asfound.jobs.renames import former_ids, renamed_between
from asfound.model.fleet import Standard
from asfound.model.menu_map import Field, MenuMap
from asfound.model.target import Origin, Target, TargetValue
from asfound.model.values import problem


@dataclass(frozen=True, slots=True)
class BuildTarget:
    """Target for ``firmware``, the version that is installed when the settings are brought back.

    ``as_found`` holds canonical values that are certain (sure, or settled by a person), by the
    field ids of ``as_found_firmware`` (None: the same firmware).
    """

    menu_map: MenuMap
    firmware: str
    standard: Standard
    vehicle_class: str = ""
    overrides: Mapping[str, str] = field(default_factory=dict)
    as_found: Mapping[str, str] = field(default_factory=dict)
    as_found_firmware: str | None = None


def build_target(request: BuildTarget) -> Target:
    """Vehicle override, else class, else fleet baseline, else as found.

    A setting that firmware renamed takes what is said of its other id. A value the field no longer
    takes is not guessed at: the field is then ``unknown``, like one that nobody speaks for.
    Raises NotFound (a field the map does not have, unknown firmware) and InputError (an override or
    standard gives a value the field cannot have, or names something that is not a setting).
    """
    menu_map, firmware = request.menu_map, request.firmware
    layers = (
        (Origin.OVERRIDE, request.overrides),
        (Origin.CLASS, request.standard.classes.get(request.vehicle_class, {})),
        (Origin.BASELINE, request.standard.baseline),
    )
    for origin, layer in layers:
        _check(menu_map, origin, layer)
    for name in request.as_found:
        menu_map.field(name)
    found = _carried(request)
    values: list[TargetValue] = []
    unknown: list[str] = []
    for item in menu_map.fields_in(firmware):
        if not item.settable:
            continue
        said = [
            (origin, value)
            for origin, layer in (*layers, (Origin.AS_FOUND, found))
            if (value := _said(menu_map, item, layer)) is not None
        ]
        if said and value_problem(item.type, item.drafted, said[0][1]) is None:
            origin, value = said[0]
            values.append(TargetValue(item.id, value, origin, found.get(item.id)))
        else:
            unknown.append(item.id)
    return Target(menu_map.id, firmware, tuple(values), tuple(unknown))


def _said(menu_map: MenuMap, item: Field, layer: Mapping[str, str]) -> str | None:
    """What a layer says of ``item``, by its id or by one it had before."""
    for name in (item.id, *former_ids(menu_map, item)):
        if name in layer:
            return layer[name]
    return None


def _check(menu_map: MenuMap, origin: Origin, layer: Mapping[str, str]) -> None:
    for name, value in layer.items():
        item = menu_map.field(name)
        if not item.settable:
            raise InputError(f"{origin} for {name!r}: this is not a setting; remove it")
        if text := problem(item.type, value):
            raise InputError(f"{origin} for {name!r}: {text}; correct it")


def _carried(request: BuildTarget) -> dict[str, str]:
    """As-found values under the ids of the installed firmware."""
    old = request.as_found_firmware or request.firmware
    renamed = dict(renamed_between(request.menu_map, old, request.firmware))
    carried: dict[str, str] = {}
    for name, value in request.as_found.items():
        item = request.menu_map.field(name)
        if request.menu_map.present(item, request.firmware):
            carried[name] = value
        elif name in renamed:
            carried.setdefault(renamed[name], value)
    return carried
