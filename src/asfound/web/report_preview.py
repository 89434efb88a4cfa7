"""The report's pages as pictures: made once for each state of a visit, and kept for a while."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable

Pages = tuple[bytes, ...]
KEPT = 3
"""Reports whose pictures are kept: some megabytes each."""


class Previews:
    """Pictures of reports by what they show. One is made at a time."""

    def __init__(self) -> None:
        self._made: OrderedDict[str, Pages] = OrderedDict()
        self._lock = threading.Lock()

    def pages(self, key: str, make: Callable[[], Pages]) -> Pages:
        """The pictures of the report named ``key``, made by ``make`` when they are not there."""
        with self._lock:
            pages = self._made.pop(key, None)
            if pages is None:
                pages = make()
            self._made[key] = pages
            while len(self._made) > KEPT:
                self._made.popitem(last=False)
            return pages
