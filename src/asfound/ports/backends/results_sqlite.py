"""Results in one SQLite file."""

from __future__ import annotations

import hashlib
import sqlite3
import time
from collections.abc import Callable
from pathlib import Path

from asfound.ports.backends.code_version import code_version
from asfound.ports.backends.fingerprint import fingerprint

MOST = 500_000
"""Results that are kept; the oldest go first."""

WAIT_S = 10.0


class SqliteResults:
    """Results in the file ``path``, made when the first is stored. ``say`` is given one line
    when something is wrong with it; the work goes on without."""

    def __init__(self, path: Path, say: Callable[[str], None], whole: bool = False) -> None:
        self._path = path
        self._say = say
        self._whole = whole
        self._base: sqlite3.Connection | None = None
        self._off = False
        self._rejected = False
        self.recalled = 0
        """How many results were given out."""

    def fingerprint(self, path: Path) -> str:
        """As ports.results.Results.fingerprint."""
        return fingerprint(path, self._whole)

    def version(self) -> str:
        """As ports.results.Results.version."""
        return code_version()

    def get(self, key: str) -> bytes | None:
        """As ports.results.Results.get."""
        base = self._opened(make=False)
        if base is None:
            return None
        try:
            row = base.execute("SELECT sum, data FROM looks WHERE key = ?", (key,)).fetchone()
        except sqlite3.Error as error:
            self._give_up(error)
            return None
        if row is None:
            return None
        total, data = row
        if not isinstance(data, bytes) or hashlib.sha256(data).hexdigest() != total:
            self.reject(key, "it is not what was stored")
            return None
        self.recalled += 1
        return data

    def put(self, key: str, data: bytes) -> None:
        """As ports.results.Results.put."""
        base = self._opened(make=True)
        if base is None:
            return
        row = (key, int(time.time()), hashlib.sha256(data).hexdigest(), data)
        try:
            with base:
                base.execute("INSERT OR REPLACE INTO looks VALUES (?, ?, ?, ?)", row)
        except sqlite3.Error as error:
            self._give_up(error)

    def reject(self, key: str, why: str) -> None:
        """As ports.results.Results.reject; a person is told of the first."""
        if not self._rejected:
            self._rejected = True
            self._say(f"{self._path}: a stored result cannot be used ({why}); looking again")
        base = self._opened(make=False)
        if base is not None:
            try:
                with base:
                    base.execute("DELETE FROM looks WHERE key = ?", (key,))
            except sqlite3.Error as error:
                self._give_up(error)

    def close(self) -> None:
        """Done with it; what grew too old is dropped."""
        if self._base is None:
            return
        old = "SELECT key FROM looks ORDER BY at DESC LIMIT -1 OFFSET ?"
        try:
            with self._base:
                self._base.execute(f"DELETE FROM looks WHERE key IN ({old})", (MOST,))
        except sqlite3.Error as error:
            self._give_up(error)
        if self._base is not None:
            self._base.close()
            self._base = None

    def _opened(self, make: bool) -> sqlite3.Connection | None:
        if self._off or (self._base is None and not make and not self._path.is_file()):
            return None
        if self._base is None:
            try:
                self._path.parent.mkdir(parents=True, exist_ok=True)
                self._base = sqlite3.connect(self._path, timeout=WAIT_S)
                self._base.execute("PRAGMA journal_mode = WAL")
                self._base.execute("PRAGMA synchronous = NORMAL")
                self._base.execute(
                    "CREATE TABLE IF NOT EXISTS looks (key TEXT PRIMARY KEY, at INTEGER NOT NULL,"
                    " sum TEXT NOT NULL, data BLOB NOT NULL)"
                )
            except (sqlite3.Error, OSError) as error:
                self._give_up(error)
        return self._base

    def _give_up(self, error: Exception) -> None:
        """Go on without stored results."""
        self._off = True
        reason = " ".join(str(error).split())
        self._say(
            f"{self._path}: results can be neither used nor kept ({reason}); delete the file if "
            "it is damaged"
        )
        if self._base is not None:
            self._base.close()
            self._base = None
