"""The system's clock."""

from __future__ import annotations

import time
from datetime import UTC, datetime


class SystemClock:
    """Wall time in UTC, and a counter that never runs backwards."""

    def now(self) -> datetime:
        """The present, aware, in UTC."""
        return datetime.now(UTC)

    def steady(self) -> float:
        """Seconds of a steady counter with an arbitrary zero."""
        return time.monotonic()
