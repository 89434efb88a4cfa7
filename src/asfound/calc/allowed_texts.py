"""What a recorder may show for a field whose values can be counted: text -> canonical value."""

from __future__ import annotations

import re
from decimal import Decimal

from asfound.model.kinds import Choice, FieldType, Level, Number, Switch
from asfound.model.values import shown

MOST = 3000
"""Values above which they are not listed."""


def allowed_texts(kind: FieldType, label: str = "") -> dict[str, str]:
    """Every text that may stand there, with its value; {} where they cannot be listed.

    Where ``label`` names the unit the value may stand without it.
    """
    match kind:
        case Choice(options=options):
            return {option: option for option in options}
        case Switch(on=on, off=off):
            return {on: "on", off: "off"}
        case Level(minimum=low, maximum=high):
            return {str(value): str(value) for value in range(low, high + 1)}
        case Number():
            return _numbers(kind, label)
        case _:
            return {}


def _numbers(kind: Number, label: str) -> dict[str, str]:
    texts = {word: word for word in kind.words}
    steps = int((kind.maximum - kind.minimum) / kind.step)
    if steps > MOST:
        return {}
    named = bool(kind.unit) and bool(
        re.search(rf"(?<!\w){re.escape(kind.unit)}(?!\w)", label, re.IGNORECASE)
    )
    for step in range(steps + 1):
        value = f"{kind.minimum + Decimal(step) * kind.step:.{kind.decimals}f}"
        texts[shown(kind, value)] = value
        if named:
            texts[value] = value
    return texts
