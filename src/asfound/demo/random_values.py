"""Random but realistic settings of an invented recorder, for photographs with known truth."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import numpy as np

from asfound.model.kinds import (
    Choice,
    Date,
    Host,
    IPv4,
    Level,
    Number,
    ReadOnly,
    Secret,
    Switch,
    Text,
    Time,
)
from asfound.model.menu_map import Field, MenuMap
from asfound.model.values import canonical_number

_VIEWS = (
    "Road ahead", "Nearside", "Offside", "Rear", "Cab", "Doors", "Load bay", "Stairs", "Saloon 1",
    "Saloon 2", "Platform", "Blind spot", "Roof", "Coupling", "Ramp", "Driver",
)  # fmt: skip
_WORDS = (
    "Brindlemere", "Oakhanger", "Sallowfield", "Tarnbeck", "North yard", "Depot 5", "Ill Bell",
    "Quay 11", "Mill Lane", "Bay 0", "Olla", "S5 B8", "Workshop", "Dock 10", "Hill Rd", "Unit 1l",
)  # fmt: skip
_NOTES = (
    "Brake", "Reverse", "Door front", "Door rear", "Tail lift", "Beacon", "Ramp out", "PTO",
    "Panic button", "Hazard", "Kneel", "Body up", "Spare", "Seat belt", "Lamp 1", "Lamp l",
)  # fmt: skip
_HOST_WORDS = (
    "rec", "fleet", "cam0", "camO", "node1", "nodel", "vid", "s5", "b8", "ill", "oslo", "io",
    "depot", "brindlemere", "sallow", "m1m", "rn", "q9g", "z2", "cl0ud",
)  # fmt: skip
_TOPS = ("example", "test", "example.net", "example.org", "example.com", "internal.test")
_ALIKE = "0O1Il5S8B2Z6G"


def random_values(menu_map: MenuMap, firmware: str, rng: np.random.Generator) -> dict[str, str]:
    """A canonical value for every field of ``firmware``.

    Near half of the fields keep their factory value, as in a real fleet; the others cover the
    whole range of their type, look-alike characters, blank texts and special words.
    Raises NotFound for unknown firmware.
    """
    values: dict[str, str] = {}
    for field in menu_map.fields_in(firmware):
        factory = menu_map.default(field, firmware)
        keep = factory is not None and rng.random() < 0.45
        values[field.id] = factory if keep and factory is not None else _value(field, rng)
        if isinstance(field.type, ReadOnly) and factory is not None:
            values[field.id] = factory
    return values


def _value(field: Field, rng: np.random.Generator) -> str:
    match field.type:
        case Choice(options=options):
            return options[int(rng.integers(len(options)))]
        case Switch():
            return "on" if rng.random() < 0.5 else "off"
        case Number():
            return _number(field.type, rng)
        case Level(minimum=low, maximum=high):
            return str(int(rng.integers(low, high + 1)))
        case Time(seconds=seconds):
            parts = [rng.integers(24), rng.integers(60)] + [rng.integers(60)] * seconds
            return ":".join(f"{int(part):02}" for part in parts)
        case Date():
            return (date(2019, 1, 1) + timedelta(days=int(rng.integers(4000)))).isoformat()
        case Secret():
            return "set" if rng.random() < 0.6 else "blank"
        case ReadOnly():
            return _shown_only(field, rng)
        case _:
            return _free(field, rng)


def _number(kind: Number, rng: np.random.Generator) -> str:
    if kind.words and rng.random() < 0.3:
        return kind.words[int(rng.integers(len(kind.words)))]
    steps = int((kind.maximum - kind.minimum) / kind.step)
    return canonical_number(kind, kind.minimum + Decimal(int(rng.integers(steps + 1))) * kind.step)


def _free(field: Field, rng: np.random.Generator) -> str:
    match field.type:
        case IPv4():
            return _address(field, rng)
        case Host(max_length=most):
            return "" if rng.random() < 0.12 else _host(most, rng)
        case Text():
            return "" if rng.random() < 0.12 else _text(field, field.type, rng)
        case _:
            return ""


def _address(field: Field, rng: np.random.Generator) -> str:
    if "mask" in field.id:
        bits = int(rng.integers(16, 31))
        word = (0xFFFFFFFF << (32 - bits)) & 0xFFFFFFFF
        return ".".join(str(word >> shift & 255) for shift in (24, 16, 8, 0))
    if rng.random() < 0.1:
        return "0.0.0.0"
    first = ("10", f"172.{int(rng.integers(16, 32))}", "192.168", "198.51.100")
    start = first[int(rng.integers(len(first)))].split(".")
    rest = [str(int(rng.integers(0, 256))) for _ in range(4 - len(start))]
    return ".".join([*start, *rest])


def _host(most: int, rng: np.random.Generator) -> str:
    """A server's name, now and then its address, with letters and figures easily mixed up."""
    if rng.random() < 0.15:
        return f"203.0.113.{int(rng.integers(1, 255))}"
    words = [_pick(_HOST_WORDS, rng) for _ in range(int(rng.integers(1, 4)))]
    joined = words[0]
    for word in words[1:]:
        joined += ("-", ".", "")[int(rng.integers(3))] + word
    name = f"{joined}.{_pick(_TOPS, rng)}"
    return name if len(name) <= most else joined[:most].rstrip("-.")


def _text(field: Field, kind: Text, rng: np.random.Generator) -> str:
    if field.means == "camera-name" or "name" in field.id:
        text = _pick(_VIEWS if field.means == "camera-name" else _NOTES, rng)
    elif field.means == "vehicle" or "plate" in field.id:
        text = _plate(rng)
    elif "phone" in field.id:
        text = "".join(_pick("0123456789", rng) for _ in range(4)) + " "
        text += "".join(_pick("0123456789", rng) for _ in range(6))
    elif rng.random() < 0.3:
        text = "".join(_pick(_ALIKE, rng) for _ in range(int(rng.integers(3, 9))))
    else:
        text = _pick(_WORDS, rng)
    return _taken(text, kind)


def _taken(text: str, kind: Text) -> str:
    """``text`` as far as the recorder takes it."""
    if kind.alphabet:
        if not any(letter in kind.alphabet for letter in "abcdefghijklmnopqrstuvwxyz"):
            text = text.upper()
        text = "".join(letter for letter in text if letter in kind.alphabet)
    return text[: kind.max_length].strip()


def _plate(rng: np.random.Generator) -> str:
    letters, figures = "ABCDEFGHIJKLMNOPQRSTUVWXYZ", "0123456789"
    shape = ("AA00 AAA", "A000 AAA", "AAA 0000", "BH-000")[int(rng.integers(4))]
    return "".join(
        _pick(letters, rng) if mark == "A" else _pick(figures, rng) if mark == "0" else mark
        for mark in shape
    )


def _shown_only(field: Field, rng: np.random.Generator) -> str:
    what = field.type.what if isinstance(field.type, ReadOnly) else "text"
    if what == "clock":
        day = date(2026, 1, 1) + timedelta(days=int(rng.integers(365)))
        clock = ":".join(f"{int(rng.integers(top)):02}" for top in (24, 60, 60))
        return f"{day:%d.%m.%Y} {clock}"
    if what == "version":
        return f"{_pick('ABCDR', rng)}{int(rng.integers(1, 9))}.{int(rng.integers(0, 20)):02}"
    if what == "serial":
        if "mac" in field.id:
            return ":".join(f"{int(rng.integers(256)):02X}" for _ in range(6))
        marks = "".join(_pick("0123456789ABCDEFGHJKLMNPQRSTUVWXYZOI", rng) for _ in range(7))
        return f"{_pick('QMKT', rng)}{_pick('FRBS', rng)}-{marks}"
    return _figure(field, rng)


def _figure(field: Field, rng: np.random.Generator) -> str:
    name = field.id.rpartition(".")[2]
    if any(word in name for word in ("drive", "disk", "free")):
        return _pick(("931.5 GB", "1.82 TB", "465.8 GB", "238.5 GB", "3.64 TB", "117.9 GB"), rng)
    if any(word in name for word in ("now", "volts")):
        return f"{rng.uniform(11.5, 28.4):.1f} V"
    if "last" in name:
        return f"{int(rng.integers(24)):02}:{int(rng.integers(60)):02} today"
    return str(int(rng.integers(1, 40000)))


def _pick(items: tuple[str, ...] | str, rng: np.random.Generator) -> str:
    return items[int(rng.integers(len(items)))]
