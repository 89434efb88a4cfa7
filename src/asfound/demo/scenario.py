"""The demonstration's scenario: what the recorder of bus 217 shows, and what goes wrong."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from asfound.demo.random_values import random_values
from asfound.model.menu_map import MenuMap

FLEET_FILE = Path(__file__).with_name("brindlemere.toml")
VEHICLE = "217"
PROCEDURE = "firmware-and-reset"
TECHNICIAN = "Ines Okafor"
OFFICE = "Ruaridh Penhale (claims)"
FIRMWARE = "2.03"
PHOTO_SIZE = (1920, 1440)
CLOCK_FOUND_S, CLOCK_LEFT_S = 41.0, 0.3
"""How far the recorder's clock is ahead of the phone's, before and after it is set."""
SMEARED = ("wires.in-1", "office.server")
"""Values over which a drop of something hides part of the glass: doubts for a person."""

MISTAKES: Mapping[str, str] = {
    "jolts.y": "0.9",
    "keeping.parts": "10",
    "wires.in-3-does": "Log",
}
"""What is wrong after keying: a slip of the key, a row forgotten, an option short."""

FROZEN_CHANNEL = 3
FOOTAGE_SECONDS = 14.0

CLAIM_START = datetime(2026, 3, 9, 16, 40, tzinfo=UTC)
CLAIM_END = datetime(2026, 3, 9, 17, 25, tzinfo=UTC)
CLAIM = "Passenger says the front door closed on her arm at Mill Cross; keep channels 2 and 3"
RELEASE = "Span copied and checked on 12 March, receipt 0417; claim keeps its own copy"
OVERRIDE = (
    "Camera 3 is stuck at the unit; replacement ordered as job 5582, bus stays off school runs"
)

_FOUND: Mapping[str, str] = {
    "channel-1.looks-at": "Road ahead",
    "channel-2.looks-at": "Front door",
    "channel-3.looks-at": "Rear saloon",
    "channel-4.looks-at": "Nearside",
    "channel-4.flip": "Left to right",
    "channel-1.data-rate": "2.5",
    "channel-1.movement": "6",
    "keeping.after-key-off": "600",
    "keeping.days": "Never",
    "marking.fleet-number": "217",
    "marking.plate": "QB04 XKM",
    "marking.burn-in": "Time and plate",
    "jolts.x": "0.5",
    "jolts.y": "0.5",
    "jolts.z": "2.2",
    "driving.pulses": "7840",
    "driving.top-speed": "100",
    "wires.in-1": "Brake pedal",
    "wires.in-3": "Door open",
    "wires.in-3-does": "Log and keep",
    "cable.automatic": "off",
    "cable.address": "10.44.17.217",
    "cable.mask": "255.255.0.0",
    "cable.router": "10.44.0.1",
    "radio.on": "on",
    "radio.network": "BHC depot",
    "radio.password": "set",
    "radio.copy-at-depot": "Newest first",
    "office.server": "video.brindlemere.example",
    "office.port": "5055",
    "office.user": "bus217",
    "office.code": "set",
    "office.beat": "30",
    "time.daily-check": "03:15",
    "supply.cut-24": "23.2",
    "supply.volts": "26.3 V",
    "about.version": "1.12",
    "about.serial": "MF-20417",
    "about.disk": "480 GB",
    "about.free": "3 GB",
    "about.owner": "Brindlemere",
    "about.installed": "2024-06-18",
    "about.menu-pin": "set",
}


def as_found_screen(menu_map: MenuMap, firmware: str) -> dict[str, str]:
    """What the recorder shows when the technician arrives: field id -> canonical value."""
    return factory_screen(menu_map, firmware) | {
        field.id: _FOUND[field.id] for field in menu_map.fields_in(firmware) if field.id in _FOUND
    }


def factory_screen(menu_map: MenuMap, firmware: str) -> dict[str, str]:
    """What it shows after a reset; what has no factory value (serial, volts) stays as found."""
    shown = random_values(menu_map, firmware, np.random.default_rng(217))
    for field in menu_map.fields_in(firmware):
        default = menu_map.default(field, firmware)
        if default is not None:
            shown[field.id] = default
        elif field.id in _FOUND:
            shown[field.id] = _FOUND[field.id]
    return shown


def keyed_screen(menu_map: MenuMap, target: Mapping[str, str], mended: bool) -> dict[str, str]:
    """What it shows after keying the target in: with the mistakes, or with them mended."""
    shown = factory_screen(menu_map, FIRMWARE) | dict(target)
    shown |= {"radio.password": "set", "office.code": "set", "about.menu-pin": "set"}
    return shown if mended else shown | dict(MISTAKES)
