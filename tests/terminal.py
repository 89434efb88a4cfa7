"""A command run in a pseudo-terminal, as a person sees it (tests only)."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Mapping

LIMIT_S = 40.0
# The terminal becomes the child's own, so that Ctrl-C reaches it.
_CHILD = """
import fcntl, sys, termios
fcntl.ioctl(0, termios.TIOCSCTTY, 0)
from asfound.cli.main import call
sys.exit(call(sys.argv[1:]))
"""
_CODES = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")


class Terminal:
    """A running `asfound` command in a terminal of 100 columns and 40 lines."""

    def __init__(self, arguments: list[str], environ: Mapping[str, str]) -> None:
        self._own, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 100, 0, 0))
        self._process = subprocess.Popen(
            [sys.executable, "-c", _CHILD, *arguments],
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            env={**os.environ, "PYTHONIOENCODING": "utf-8", **environ},
            start_new_session=True,
        )
        os.close(theirs)
        self.raw = ""
        self._seen = 0

    def close(self) -> None:
        """End it if it still runs."""
        if self._process.poll() is None:
            self.kill()

    def until(self, text: str) -> str:
        """What was shown since the last call, up to and with ``text``; escape codes taken out."""
        end = time.monotonic() + LIMIT_S
        while True:
            plain = _CODES.sub("", self.raw)
            place = plain.find(text, self._seen)
            if place >= 0:
                before, self._seen = self._seen, place + len(text)
                return plain[before : self._seen]
            if time.monotonic() > end or not self._more(0.2):
                raise AssertionError(f"no {text!r} in {plain[self._seen :]!r}")

    def press(self, keys: str) -> None:
        """Keys as the terminal sends them."""
        os.write(self._own, keys.encode())

    def ended(self) -> int:
        """Waits for the end; the exit code."""
        end = time.monotonic() + LIMIT_S
        while self._more(0.2) and time.monotonic() < end:
            pass
        code = self._process.wait(LIMIT_S)
        if self._own >= 0:
            os.close(self._own)
            self._own = -1
        return code

    def kill(self) -> None:
        """As a pulled plug does."""
        self._process.kill()
        self.ended()

    def rest(self) -> str:
        """What was shown since the last ``until``."""
        return _CODES.sub("", self.raw)[self._seen :]

    def _more(self, seconds: float) -> bool:
        """Read what there is; False when the other side has closed."""
        if self._own < 0:
            return False
        ready, _, _ = select.select([self._own], [], [], seconds)
        if not ready:
            return True
        try:
            data = os.read(self._own, 65536)
        except OSError:
            return False
        self.raw += data.decode("utf-8", "replace")
        return bool(data)
