"""Measured values as a language writes them, always with their unit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from babel.numbers import format_decimal, get_decimal_symbol

from asfound.jobs.report_texts import seconds_text
from asfound.units import bytes_text, length_text

NARROW = "\u00a0"


@dataclass(frozen=True, slots=True)
class Figures:
    """Figures in the language ``tag`` (BCP 47)."""

    tag: str

    def number(self, value: float) -> str:
        """A figure with at most four digits that mean something."""
        pattern = "#,##0" if abs(value) >= 1000 else "@###"
        # Unicode Technical Standard 35, Number Format Patterns: @ is a significant digit.
        return format_decimal(value, pattern, locale=self.tag)

    def measured(self, value: float | None, unit: str) -> str:
        """A figure with its unit; the unit "1" is a bare ratio; "" for None."""
        if value is None:
            return ""
        if unit == "bit/s":
            return self.bitrate(value)
        return self.number(value) if unit in ("1", "") else f"{self.number(value)}{NARROW}{unit}"

    def tenths(self, value: float) -> str:
        """A figure to one decimal."""
        return format_decimal(value, "0.0", locale=self.tag)

    def share(self, value: float) -> str:
        """Per cent to one decimal, cut off: what is not whole never reads as 100 %."""
        return f"{self.tenths(int(value * 1000 + 1e-6) / 10)}{NARROW}%"

    def hundredths(self, value: float) -> str:
        """A figure to two decimals."""
        return format_decimal(value, "0.00", locale=self.tag)

    def percent(self, value: float) -> str:
        """A share 0..1 in per cent to two decimals."""
        return f"{self.hundredths(100 * value)}{NARROW}%"

    def size(self, value: int) -> str:
        """Bytes with a decimal prefix."""
        return bytes_text(value).replace(".", get_decimal_symbol(self.tag)).replace(" ", NARROW)

    def hours(self, value: float) -> str:
        """Hours to a tenth, below one hour to a hundredth."""
        few = 0 < value < 1
        return f"{format_decimal(value, '0.00' if few else '0.0', locale=self.tag)}{NARROW}h"

    def bitrate(self, bps: float) -> str:
        """A bit rate with a decimal prefix (1 Mbit = 1e6 bit)."""
        if bps >= 1e6:
            return f"{format_decimal(bps / 1e6, '0.00', locale=self.tag)}{NARROW}Mbit/s"
        return f"{format_decimal(bps / 1e3, '0', locale=self.tag)}{NARROW}kbit/s"

    def clock(self, seconds: float) -> str:
        """Seconds as M:SS.s or H:MM:SS.s."""
        return seconds_text(seconds).replace(".", get_decimal_symbol(self.tag))

    def time(self, at: datetime, zone: ZoneInfo) -> str:
        """A time of the day to the second."""
        return at.astimezone(zone).strftime("%H:%M:%S")

    def length(self, hours: float) -> str:
        """A length [h] as 2 h 05 min, 40 min or 20 s."""
        return length_text(hours).replace(" ", NARROW)
