"""What recordings should look like, from the settings that a recorder should have."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal, InvalidOperation

from asfound.errors import MapError
from asfound.model.finding import Expectation, ExpectedChannel
from asfound.model.fleet import Camera
from asfound.model.kinds import Choice, Number
from asfound.model.menu_map import Field, Meaning, MenuMap
from asfound.model.target import Target

SIZE = re.compile(r"(\d{2,5})\s*[x×]\s*(\d{2,5})", re.I)
BIT_UNITS = {"bit/s": 1, "kbit/s": 1_000, "mbit/s": 1_000_000}
"""Decimal prefixes: 1 Mbit/s = 1e6 bit/s (IEC 80000-13)."""

LEFT_OPEN = frozenset({"auto", "automatic", "variable"})
"""Values by which no figure is promised (common practice, no source)."""


def expect_from_target(menu_map: MenuMap, target: Target, cameras: Iterable[Camera]) -> Expectation:
    """The channels that should record, with size, rate, bit rate, codec and sound.

    ``cameras`` are those fitted; one whose "record" setting is off is not expected. A camera's
    own field speaks before a field for all cameras. What no field says stays None. Raises
    MapError when a value cannot be turned into figures.
    """
    values = target.as_dict()
    fields = [f for f in menu_map.fields_in(target.firmware) if f.means and f.id in values]
    return Expectation(
        tuple(
            channel
            for camera in sorted(cameras, key=lambda camera: camera.channel)
            for channel in _channel(camera, fields, values)
        )
    )


def _channel(
    camera: Camera, fields: list[Field], values: dict[str, str]
) -> Iterator[ExpectedChannel]:
    def says(means: Meaning) -> tuple[Field, str] | None:
        for place in (camera.channel, None):
            for field in fields:
                if field.means == means and field.camera == place:
                    return field, values[field.id]
        return None

    record, size, rate = says("record"), says("frame-size"), says("frame-rate")
    bits, codec, sound, name = says("bit-rate"), says("codec"), says("audio"), says("camera-name")
    if record is not None and _is_off(*record):
        return
    width, height = _size(*size) if size else (None, None)
    yield ExpectedChannel(
        channel=camera.channel,
        name=name[1] if name and name[1] else camera.name,
        width=width,
        height=height,
        rate_fps=_figure(*rate) if rate else None,
        bitrate_bps=_figure(*bits) if bits else None,
        codec=_in_figures(*codec) if codec else None,
        audio=None if sound is None else not _is_off(*sound),
    )


def _in_figures(field: Field, value: str) -> str:
    """What the map says the value stands for, else the value."""
    if isinstance(field.type, Choice):
        return field.type.amount(value) or value
    return value


def _is_off(field: Field, value: str) -> bool:
    return _in_figures(field, value).casefold() in ("off", "none", "no", "0")


def _size(field: Field, value: str) -> tuple[int, int]:
    found = SIZE.fullmatch(_in_figures(field, value).strip())
    if found is None:
        raise MapError(_no_figures(field, value, 'a size such as "1280x720"'))
    return int(found[1]), int(found[2])


def _figure(field: Field, value: str) -> float | None:
    """A rate [1/s] or bit rate [bit/s]; None when the recorder chooses it itself."""
    factor = 1
    if value.casefold() in LEFT_OPEN:
        return None
    if isinstance(field.type, Number) and field.means == "bit-rate":
        factor = BIT_UNITS.get(field.type.unit.casefold(), 0)
        if not factor:
            raise MapError(_no_figures(field, value, "a unit: bit/s, kbit/s or Mbit/s"))
    try:
        figure = Decimal(_in_figures(field, value))
    except InvalidOperation:
        raise MapError(_no_figures(field, value, "a number")) from None
    if not figure.is_finite() or figure <= 0:
        raise MapError(_no_figures(field, value, "a number above 0"))
    return float(figure * factor)


def _no_figures(field: Field, value: str, wanted: str) -> str:
    return (
        f"field {field.id} means {field.means}, but {value!r} does not say {wanted}; "
        "put it into the field's amounts"
    )
