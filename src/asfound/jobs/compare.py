"""Compare the settings as left with the target: every field gets a verdict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from asfound.calc.open_values import value_problem
from asfound.errors import InputError, UsageError
from asfound.model.difference import Difference, FieldDifference, Verdict
from asfound.model.kinds import ReadOnly
from asfound.model.menu_map import Field, MenuMap
from asfound.model.reading import Reading
from asfound.model.target import Target


@dataclass(frozen=True, slots=True)
class Compare:
    """``settled`` are the doubts of ``as_left`` that a person settled: id -> canonical value."""

    menu_map: MenuMap
    firmware: str
    target: Target
    as_left: Reading
    settled: Mapping[str, str] = field(default_factory=dict)


def compare(request: Compare) -> Difference:
    """One verdict for each field of the installed firmware, in menu order.

    Raises UsageError (target or reading of another recorder or firmware), NotFound (a settled
    field the map does not have), InputError (a settled value the field cannot have).
    """
    menu_map, firmware = request.menu_map, request.firmware
    for what, item in (("target", request.target), ("reading", request.as_left)):
        if (item.map_id, item.firmware) != (menu_map.id, firmware):
            raise UsageError(
                f"the {what} is for {item.map_id} {item.firmware}, not for {menu_map.id} "
                f"{firmware}; make it again for this recorder"
            )
    for name, value in request.settled.items():
        row = menu_map.field(name)
        if text := value_problem(row.type, row.drafted, value):
            raise InputError(f"settled value for {name!r}: {text}; settle it again")
    left = request.as_left.sure_values() | dict(request.settled)
    wanted = request.target.as_dict()
    fields = tuple(
        _judge(item, wanted.get(item.id), left.get(item.id), menu_map.default(item, firmware))
        for item in menu_map.fields_in(firmware)
    )
    return Difference(menu_map.id, firmware, fields)


def _judge(
    item: Field, target: str | None, left: str | None, default: str | None
) -> FieldDifference:
    return FieldDifference(
        item.id, item.label, _verdict(item, target, left, default), target, left, default
    )


def _verdict(item: Field, target: str | None, left: str | None, default: str | None) -> Verdict:
    clock = isinstance(item.type, ReadOnly) and item.type.what == "clock"
    if item.volatile or clock:
        return Verdict.CLOCK
    if target is None:
        return Verdict.NO_TARGET
    if left is None:
        return Verdict.DOUBT
    if left == target:
        return Verdict.SAME
    if left == default:
        return Verdict.MISSED
    return Verdict.EXTRA if target == default else Verdict.WRONG
