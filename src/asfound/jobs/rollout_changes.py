"""What a new version changes in the settings, from the menu map alone, before anyone drives out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from asfound.jobs.build_target import BuildTarget, build_target
from asfound.jobs.renames import renamed_between
from asfound.model.fleet import Standard
from asfound.model.kinds import Choice, FieldType, Host, Level, Number, Text
from asfound.model.menu_map import MenuMap


class Change(StrEnum):
    """What happened to a setting, or to the keys that lead to it."""

    ADDED = "added"
    REMOVED = "removed"
    RENAMED = "renamed"
    DEFAULT = "default"
    ALLOWED = "allowed"
    MOVED = "moved"


class Effect(StrEnum):
    """What a change does to an agreed value.

    lost: the setting is gone. refused: the value is not allowed any more. key: it has to be keyed
    in now, being another than the new factory value. kept: it need not any more.
    carried: it goes to the setting's new id. nobody: a new setting for which nothing is agreed.
    """

    LOST = "lost"
    REFUSED = "refused"
    KEY = "key"
    KEPT = "kept"
    CARRIED = "carried"
    NOBODY = "nobody"


@dataclass(frozen=True, slots=True)
class RolloutChanges:
    """From firmware ``old`` to ``new``. ``who``: standards and what stands for them by name."""

    menu_map: MenuMap
    old: str
    new: str
    who: tuple[Agreed, ...] = ()


@dataclass(frozen=True, slots=True)
class Agreed:
    """Agreed values of a class or of one vehicle; ``as_found``: values last left, canonical."""

    name: str
    standard: Standard
    vehicle_class: str = ""
    overrides: Mapping[str, str] = field(default_factory=dict)
    as_found: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class FieldChange:
    """One change; ``before`` and ``after`` in words, "" where there is none. ``id`` is the new
    version's, but for a removed setting."""

    change: Change
    id: str
    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class AgreedChange:
    """What becomes of one agreed ``value`` (canonical) of ``who``; "" where nothing is agreed."""

    who: str
    effect: Effect
    id: str
    value: str
    default: str | None


@dataclass(frozen=True, slots=True)
class Changes:
    """Both in menu order."""

    fields: tuple[FieldChange, ...]
    agreed: tuple[AgreedChange, ...]


def rollout_changes(request: RolloutChanges) -> Changes:
    """What changes. Raises NotFound (unknown firmware or setting), InputError (a standard gives a
    value that the setting never takes)."""
    agreed = [one for who in request.who for one in _agreed(request, who)]
    return Changes(_fields(request), tuple(agreed))


def _fields(request: RolloutChanges) -> tuple[FieldChange, ...]:
    menu_map, old, new = request.menu_map, request.old, request.new
    before = {one.id: one for one in menu_map.fields_in(old) if one.settable}
    after = {one.id: one for one in menu_map.fields_in(new) if one.settable}
    former = {later: first for first, later in renamed_between(menu_map, old, new)}
    places_old, places_new = _places(menu_map, old), _places(menu_map, new)
    made: list[FieldChange] = []
    for item in menu_map.fields:
        name, label = item.id, item.label
        if name in before and name not in after and name not in former.values():
            made.append(FieldChange(Change.REMOVED, name, label, places_old[name], ""))
        if name not in after:
            continue
        if name not in before and name not in former:
            made.append(FieldChange(Change.ADDED, name, label, "", places_new[name]))
            continue
        was = before[former.get(name, name)]
        if was.id != name:
            made.append(FieldChange(Change.RENAMED, name, label, was.id, name))
        pairs = (
            (Change.DEFAULT, menu_map.default(was, old), menu_map.default(item, new)),
            (Change.ALLOWED, _allowed(was.type), _allowed(item.type)),
            (Change.MOVED, places_old[was.id], places_new[name]),
        )
        made += [
            FieldChange(kind, name, label, _said(first), _said(second))
            for kind, first, second in pairs
            if first != second
        ]
    return tuple(made)


def _allowed(kind: FieldType) -> str:
    """What the setting takes, in words."""
    match kind:
        case Choice(options=options):
            return ", ".join(options)
        case Number():
            figures = f"{kind.minimum} to {kind.maximum} {kind.unit}".rstrip()
            return ", ".join((*kind.words, f"{figures} in steps of {kind.step}"))
        case Level():
            return f"{kind.minimum} to {kind.maximum}"
        case Text() | Host():
            letters = f" of {kind.alphabet}" if isinstance(kind, Text) and kind.alphabet else ""
            return f"{kind.kind}, at most {kind.max_length} characters{letters}"
        case _:
            return kind.kind


def _said(value: str | None) -> str:
    return "not known" if value is None else value


def _places(menu_map: MenuMap, firmware: str) -> dict[str, str]:
    """Where each setting stands: page, and row counted over those that the cursor stops on."""
    places: dict[str, str] = {}
    for page in menu_map.pages:
        rows = [one for one in menu_map.page_fields(page, firmware) if one.settable]
        for number, item in enumerate(rows, 1):
            places[item.id] = f"{page.title}, in row {number}"
    return places


def _agreed(request: RolloutChanges, who: Agreed) -> list[AgreedChange]:
    menu_map, old, new = request.menu_map, request.old, request.new
    first, second = (
        build_target(
            BuildTarget(
                menu_map, version, who.standard, who.vehicle_class, who.overrides, who.as_found, old
            )
        ).as_dict()
        for version in (old, new)
    )
    renamed = dict(renamed_between(menu_map, old, new))
    former = {later: name for name, later in renamed.items()}
    here = {one.id for one in menu_map.fields_in(old) if one.settable}
    there = {one.id for one in menu_map.fields_in(new) if one.settable}
    made: list[AgreedChange] = []
    for item in menu_map.fields:
        name = item.id
        if name not in there:
            if name in first and name not in renamed:
                made.append(AgreedChange(who.name, Effect.LOST, name, first[name], None))
            continue
        was, default = former.get(name, name), menu_map.default(item, new)
        agreed, now = first.get(was), second.get(name)
        if was in here:
            before = menu_map.default(menu_map.field(was), old)
            effects = _effects(agreed, now, before, default)
            if was != name and now is not None:
                effects = [Effect.CARRIED, *effects]
        else:
            effects = [Effect.NOBODY] if now is None else [Effect.KEY] * (now != default)
        value = now if now is not None else agreed or ""
        made += [AgreedChange(who.name, effect, name, value, default) for effect in effects]
    return made


def _effects(
    agreed: str | None, now: str | None, before: str | None, default: str | None
) -> list[Effect]:
    """Of a setting that both versions have: agreed values and factory values in both."""
    if now is None:
        return [Effect.REFUSED] if agreed is not None else []
    if (now != before) == (now != default):
        return []
    return [Effect.KEPT if now == default else Effect.KEY]
