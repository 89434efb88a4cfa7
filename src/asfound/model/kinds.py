"""Field types of a menu map: what a value may be and how it is written canonically.

Canonical text (the same in readings, targets, journals and reports):
choice -> the option's text; switch -> "on"/"off"; number, level -> decimal without the
unit, or one of the number's special words; time -> HH:MM or HH:MM:SS; date ->
YYYY-MM-DD; IPv4 -> dotted without padding; host, text -> as shown; secret ->
"set"/"blank"; read-only -> as shown.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a fixed list of options, in the order the recorder steps through them.

    ``amounts`` optionally says what an option means in figures, e.g. "1920x1080".
    """

    options: tuple[str, ...]
    amounts: tuple[tuple[str, str], ...] = ()
    kind: Literal["choice"] = "choice"

    def amount(self, option: str) -> str | None:
        """What ``option`` stands for in figures, or None when the map does not say."""
        return dict(self.amounts).get(option)


@dataclass(frozen=True, slots=True)
class Switch:
    """On or off, with the words the recorder shows; ``off`` comes first in key order."""

    on: str = "On"
    off: str = "Off"
    kind: Literal["switch"] = "switch"


@dataclass(frozen=True, slots=True)
class Number:
    """A number from ``minimum`` to ``maximum`` in ``step``; ``words`` come before minimum."""

    minimum: Decimal
    maximum: Decimal
    step: Decimal = Decimal(1)
    decimals: int = 0
    unit: str = ""
    words: tuple[str, ...] = ()
    kind: Literal["number"] = "number"


@dataclass(frozen=True, slots=True)
class Level:
    """A small whole number, often drawn as a bar beside the figure."""

    minimum: int
    maximum: int
    kind: Literal["level"] = "level"


@dataclass(frozen=True, slots=True)
class Time:
    """A time of day, 24 h, with or without seconds."""

    seconds: bool = False
    kind: Literal["time"] = "time"


DateLayout = Literal["YYYY-MM-DD", "DD.MM.YYYY", "DD/MM/YYYY", "MM/DD/YYYY"]


@dataclass(frozen=True, slots=True)
class Date:
    """A calendar date as the recorder writes it."""

    layout: DateLayout = "YYYY-MM-DD"
    kind: Literal["date"] = "date"


@dataclass(frozen=True, slots=True)
class IPv4:
    """An IPv4 address; ``padded`` when the recorder shows 192.168.001.010."""

    padded: bool = False
    kind: Literal["ipv4"] = "ipv4"


@dataclass(frozen=True, slots=True)
class Host:
    """A host name or address of a server; never corrected toward a dictionary."""

    max_length: int = 63
    kind: Literal["host"] = "host"


@dataclass(frozen=True, slots=True)
class Text:
    """Free text; ``alphabet`` lists the characters that the recorder accepts ("" = any)."""

    max_length: int = 32
    alphabet: str = ""
    kind: Literal["text"] = "text"


@dataclass(frozen=True, slots=True)
class Secret:
    """A password or code; only whether it is set is ever kept."""

    max_length: int = 32
    mask: str = "*"
    kind: Literal["secret"] = "secret"


@dataclass(frozen=True, slots=True)
class ReadOnly:
    """Shown but not set: a version, a serial number, other text, or the running clock."""

    what: Literal["version", "serial", "text", "clock"] = "text"
    kind: Literal["read-only"] = "read-only"


FieldType = Choice | Switch | Number | Level | Time | Date | IPv4 | Host | Text | Secret | ReadOnly
