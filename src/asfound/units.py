"""Units: exact factors and plain ways to write quantities for people."""

from __future__ import annotations

import re
from collections.abc import Mapping
from math import ceil, floor

KIB = 1024
MIB = 1024**2
GIB = 1024**3
TIB = 1024**4
"""Binary multiples of the byte (IEC 80000-13)."""
KB, MB, GB, TB = 1e3, 1e6, 1e9, 1e12
"""Decimal multiples, as drives are labelled (IEC 80000-13)."""
HOUR_S = 3600.0


def clock_text(seconds: float) -> str:
    """Seconds as H:MM:SS, or M:SS below an hour, rounded to the second."""
    whole = round(abs(seconds))
    hours, rest = divmod(whole, 3600)
    minutes, secs = divmod(rest, 60)
    sign = "-" if seconds < 0 and whole else ""
    return f"{sign}{hours}:{minutes:02d}:{secs:02d}" if hours else f"{sign}{minutes}:{secs:02d}"


def bitrate_text(bits_per_second: float) -> str:
    """A bit rate with a decimal prefix (1 Mbit = 1e6 bit)."""
    if bits_per_second >= 1e6:
        return f"{bits_per_second / 1e6:.2f} Mbit/s"
    return f"{bits_per_second / 1e3:.0f} kbit/s"


BYTES = {"kB": KB, "MB": MB, "GB": GB, "TB": TB, "KiB": KIB, "MiB": MIB, "GiB": GIB, "TiB": TIB}
RATES = {"kbit/s": 1e3, "Mbit/s": 1e6}
QUANTITY = re.compile(r"\s*(\d{1,12}(?:[.]\d{1,9})?)\s*([A-Za-z/%][A-Za-z/%²2]*)\s*")


def parse_quantity(text: str, units: Mapping[str, float]) -> float:
    """A figure with one of ``units``, in units of 1. Raises ValueError that says what is taken.

    Prefixes are told apart by case where that matters nowhere else: "tb" is taken for TB, "tib" for
    TiB.
    """
    found = QUANTITY.fullmatch(text)
    names = {name.casefold(): size for name, size in units.items()}
    size = names.get(found[2].casefold()) if found else None
    if found is None or size is None:
        raise ValueError(f"{text!r} is no figure with one of {', '.join(units)}")
    return float(found[1]) * size


EVEN = 1e-9
"""Below this a figure beside a round one is that round one: what sums in floating point leave."""


def down_text(value: float, places: int = 0) -> str:
    """A figure rounded down, for what may not be claimed to be more than it is."""
    return f"{floor(value * 10**places + EVEN) / 10**places:.{places}f}"


def below_text(value: float, limit: float, places: int = 0) -> str:
    """A figure below ``limit``, rounded, but never so that it reads as the limit or more."""
    text = f"{value:.{places}f}"
    return text if float(text) < limit else down_text(value, places)


def above_text(value: float, limit: float, places: int = 0) -> str:
    """A figure above ``limit``, rounded, but never so that it reads as the limit or less."""
    text = f"{value:.{places}f}"
    if float(text) > limit:
        return text
    return f"{ceil(value * 10**places - EVEN) / 10**places:.{places}f}"


def plain_text(value: float) -> str:
    """A figure without an exponent, so that a person can read it: 1000000, not 1e+06."""
    return f"{value:.9f}".rstrip("0").rstrip(".")


def bytes_text(size: float) -> str:
    """Bytes with a decimal prefix, as drives are labelled."""
    for name, unit in (("TB", TB), ("GB", GB), ("MB", MB)):
        if size >= unit:
            return (
                f"{size / unit:.3g} {name}" if size < 1000 * unit else f"{size / unit:.0f} {name}"
            )
    return f"{size / KB:.3g} kB"


def share_text(share: float) -> str:
    """Per cent to one decimal, cut off: what is not whole never reads as 100 %."""
    return f"{int(share * 1000 + 1e-6) / 10:.1f} %"


def hours_text(hours: float) -> str:
    """Hours as a figure: to a tenth, below one hour to a hundredth."""
    return f"{hours:.1f}" if hours >= 1 or hours == 0 else f"{hours:.2f}"


def length_text(hours: float) -> str:
    """A length [h] in words: "2 h 05 min", "40 min", "1 min 20 s", "20 s"."""
    seconds = round(hours * 3600)
    if seconds < 3600:
        minutes, rest = divmod(seconds, 60)
        parts = [f"{minutes} min"] * bool(minutes) + [f"{rest} s"] * bool(rest or not minutes)
        return " ".join(parts)
    full, minutes = divmod(round(seconds / 60), 60)
    return f"{full} h {minutes:02d} min"
