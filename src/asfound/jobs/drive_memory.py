"""The register of drives, kept between two looks at it: what a visit says of drives is read again
only when the visit grew."""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence

from asfound.jobs.drive_fold import fold_drive
from asfound.jobs.drive_register import Told, log_tells, visit_tells, visits_tell
from asfound.model.drive_register import DriveEvent, DriveState
from asfound.ports.drive_log import DriveLog
from asfound.ports.store import Store

AT_ONCE = 100
"""More visits than these are read in one go."""


class DriveMemory:
    """Says the same as ``list_drives``, sooner. One lives as long as its server."""

    def __init__(self) -> None:
        self._visits: dict[str, tuple[str, Sequence[Told]]] = {}
        self._folded: dict[str, tuple[frozenset[tuple[str, str]], DriveState]] = {}
        self._stamp: object = None
        self._drives: tuple[DriveState, ...] = ()
        self._lock = threading.Lock()

    def drives(self, log: DriveLog, store: Store) -> tuple[DriveState, ...]:
        """Every drive that a log or a visit names, by serial number. Raises as
        ``list_drives``."""
        entries = log.drive_entries()
        told = tuple(log_tells(entries))
        with self._lock:
            # Before the visits are read: what is written meanwhile is seen the next time.
            stamp = (store.line_stamp(), tuple(one.hash for one in entries))
            if stamp == self._stamp:
                return self._drives
            self._read(store.line_heads(), store)
            events: dict[str, list[DriveEvent]] = {}
            for serial, event in told:
                events.setdefault(serial, []).append(event)
            for _, tells in self._visits.values():
                for serial, event in tells:
                    events.setdefault(serial, []).append(event)
            self._folded = {serial: self._state(serial, events[serial]) for serial in events}
            self._drives = tuple(self._folded[serial][1] for serial in sorted(self._folded))
            self._stamp = stamp
            return self._drives

    def _read(self, heads: Mapping[str, str], store: Store) -> None:
        """Bring what visits say up to date. An entry's hash names all that came before it."""
        fresh = [one for one, head in heads.items() if self._visits.get(one, ("",))[0] != head]
        if len(fresh) > AT_ONCE:
            tells: dict[str, list[Told]] = {one: [] for one in heads}
            for serial, event in visits_tell(store):
                # One that began in between is read the next time.
                if event.visit in tells:
                    tells[event.visit].append((serial, event))
            self._visits = {one: (heads[one], tells[one]) for one in heads}
            return
        kept = {one: self._visits[one] for one in heads if one in self._visits}
        for one in fresh:
            kept[one] = (heads[one], tuple(visit_tells(store.entries(one))))
        self._visits = kept

    def _state(
        self, serial: str, events: Sequence[DriveEvent]
    ) -> tuple[frozenset[tuple[str, str]], DriveState]:
        known = frozenset((one.writer, one.hash) for one in events)
        held = self._folded.get(serial)
        return held if held and held[0] == known else (known, fold_drive(serial, events))
