"""The clock: jobs ask it for the time, so that tests can set it."""

from __future__ import annotations

from datetime import datetime
from typing import Protocol


class Clock(Protocol):
    """Wall time as an aware UTC datetime, and a steady counter in seconds."""

    def now(self) -> datetime: ...

    def steady(self) -> float: ...
