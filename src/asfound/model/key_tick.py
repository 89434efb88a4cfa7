"""Ticks on the re-key sheet: work notes of whoever stands at the keys, no acts of the journal."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime

from asfound.model.journal import canonical_json
from asfound.model.rekey import RekeyField

MARK_CHARS = 24
"""96 bits of a hash: no two settings of a visit ever share a mark."""


@dataclass(frozen=True, slots=True)
class KeyTick:
    """That a setting of the sheet was keyed in, or (``done`` False) that this was taken back.

    ``mark`` is ``tick_mark`` of the setting.
    """

    visit: str
    mark: str
    done: bool
    by: str
    at: datetime


def tick_mark(firmware: str, field: RekeyField) -> str:
    """What a tick hangs on: the setting, its agreed value, and the firmware it is keyed into.

    A plan made again keeps the ticks of what it still asks for, and no others.
    """
    text = canonical_json([firmware, field.id, field.to_value])
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:MARK_CHARS]
