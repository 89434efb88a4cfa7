"""Whether a value may go on where its outline ends: under glare or a finger beside it.

What shows of "Saloon 2" beside a spot of glare may be just "2", and look whole.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.calc.allowed_texts import allowed_texts
from asfound.calc.parse_value import bare, compact
from asfound.model.kinds import Date, FieldType, Number, ReadOnly, Secret, Time

BESIDE = 1.6
"""How far beside a value the ground is looked at, in heights: about three signs."""

BURNT = 240.0
"""Luma (0..255) from which nothing written shows."""

BRIGHTER = 9.0
"""Luma by which glare is above the ground of a bright row, such as the one under a cursor bar."""

BURNT_SHARE = 0.3
"""Share of the stretch beside a value that may not be burnt out."""

STRANGE = 0.6
"""Share of the value's contrast from which a ground beside it is another one than its own."""

PLAIN = 0.4
"""Share of that difference below which the stretch is all of one kind, as a bar's end is not."""

VEIL = 0.25
"""Share of the value's contrast by which light over a sign's room is above its brightest part."""

SIGN = 0.5
"""Narrowest room of a sign, in heights."""

_DECIMAL = re.compile(r"[+−-]?[0-9]+[.,][0-9]+")

LEGIBLE = 10.0
"""Contrast (luma) of a value below which it says nothing about its ground."""


def burnt(beside: NDArray[np.uint8], label: NDArray[np.uint8]) -> bool:
    """Whether the stretch ``beside`` a value is burnt out though the row's own ground, which the
    legible ``label`` shows, is not; crops, RGB."""
    stretch, own = (cv2.cvtColor(crop, cv2.COLOR_RGB2GRAY) for crop in (beside, label))
    limit = max(BURNT, float(np.median(own)) + BRIGHTER)
    return float(np.mean(stretch > limit)) > BURNT_SHARE


def covered(beside: NDArray[np.uint8], value: NDArray[np.uint8]) -> bool:
    """Whether the stretch ``beside`` a ``value`` is evenly of another brightness than the
    value's ground and signs; crops, RGB."""
    stretch, seen = (cv2.cvtColor(crop, cv2.COLOR_RGB2GRAY) for crop in (beside, value))
    least, low, high, most = (float(one) for one in np.percentile(seen, (5, 20, 80, 95)))
    middle = float(np.median(stretch))
    away = max(low - middle, middle - high)
    strange = most - least >= LEGIBLE and away > STRANGE * (most - least)
    return strange and float(stretch.std()) < PLAIN * away


def veiled(beside: NDArray[np.uint8], value: NDArray[np.uint8]) -> bool:
    """Whether light lies over the room of one sign ``beside`` a ``value``, all of it brighter than
    the value's brightest part: a faint sign would not show; crops, RGB."""
    stretch, seen = (cv2.cvtColor(crop, cv2.COLOR_RGB2GRAY) for crop in (beside, value))
    low, high = (float(one) for one in np.percentile(seen, (5, 95)))
    # Drawn signs let their ground show, light does not.
    darkest = np.percentile(stretch, 10, axis=0)
    room = max(2, round(SIGN * stretch.shape[0]))
    if high - low < LEGIBLE or len(darkest) < room:
        return False
    bright = np.convolve(darkest > high + VEIL * (high - low), np.ones(room), mode="valid")
    return bool((bright >= room).any())


def may_go_on(kind: FieldType, label: str, text: str, before: bool) -> bool:
    """Whether ``text``, as read, may be the end (``before``) or the beginning of another value
    that the field can have."""
    if isinstance(kind, Secret | Time | Date):
        # Set is set, and a time or date is read only when it is whole.
        return False
    own = compact(bare(text)[1])
    texts = {compact(shown): value for shown, value in allowed_texts(kind, label).items()}
    if texts:
        whole = {
            value
            for shown, value in texts.items()
            if (shown.endswith(own) if before else shown.startswith(own))
        }
        return len(whole) > 1
    if isinstance(kind, Number) and not before:
        # Nothing follows the unit.
        return not (kind.unit and own.endswith(compact(kind.unit)))
    return True


def lacks_unit(kind: FieldType, value: str, known: Sequence[str] = ()) -> bool:
    """Whether ``value`` is a measured figure that the recorder shows ("27.9") without a unit, which
    may stand behind it unseen; not where one of the ``known`` values of the field is such a figure.

    A quantity is written as a number and a unit (ISO 80000-1:2022, 6.5 and 7.1.4).
    """
    if not isinstance(kind, ReadOnly) or kind.what != "text":
        return False
    return bool(_DECIMAL.fullmatch(value)) and not any(map(_DECIMAL.fullmatch, known))


def more_than(kind: FieldType, label: str, value: str, texts: Sequence[str]) -> str | None:
    """Another value of a list that begins as ``value`` does, where more was read than ``value``:
    "Log al" may be "Log and keep" as well as "Log"; None where there is none."""
    shown = {compact(text): one for text, one in allowed_texts(kind, label).items()}
    own = next((text for text, one in shown.items() if one == value), None)
    if not own:
        return None
    longer = [one for text, one in shown.items() if text.startswith(own) and one != value]
    read = [compact(bare(text)[1]) for text in texts]
    more = any(text.startswith(own) and len(text) > len(own) for text in read)
    return longer[0] if longer and more else None
