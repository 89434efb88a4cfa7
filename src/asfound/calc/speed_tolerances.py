"""What instruments for speed may be off, each with its rule. For information: rules differ."""

from __future__ import annotations

from asfound.sources import Limit, Source

_TACHOGRAPH = Source("Regulation (EU) 165/2014 and 2016/799, Annex I C", "", 2016, "memory")
_R39 = Source("UN Regulation No. 39", "5.3", None, "memory")
_GPS = Source("GPS SPS Performance Standard, 5th edition", "", 2020, "memory")

TACHOGRAPH_KMH = Limit(6.0, "km/h", _TACHOGRAPH)
"""A tachograph in use, either way (4 when fitted, 3 on the bench)."""
TACHOGRAPH_WAY = Limit(4.0, "%", _TACHOGRAPH)
"""Its distance in use, either way (2 when fitted, 1 on the bench)."""
SPEEDOMETER_SHARE = Limit(0.1, "1", _R39)
SPEEDOMETER_KMH = Limit(4.0, "km/h", _R39)
"""A speedometer never shows less than the truth, and at most this share and this figure more."""
RECEIVER_KMH = Limit(0.72, "km/h", _GPS)
"""A satellite receiver's speed, 95 % (0.2 m/s)."""
LEAST_PULSES = Limit(4000.0, "imp/km", _TACHOGRAPH)
MOST_PULSES = Limit(25_000.0, "imp/km", _TACHOGRAPH)
"""The constant of a tachograph can be set from and to this."""


def speedometer_most(true_kmh: float) -> float:
    """The most that a speedometer may show [km/h] at a true speed."""
    return true_kmh * (1 + SPEEDOMETER_SHARE.value) + SPEEDOMETER_KMH.value
