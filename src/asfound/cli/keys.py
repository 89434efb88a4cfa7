"""Keys, one at a time: from a terminal without Enter, from a pipe the first sign of each line."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO

if sys.platform != "win32":
    import termios
    import tty

STOP = "q"
"""What the end of input counts as."""


class Keyboard:
    """Where answers come from. Use it as ``with keyboard.listening():``; the terminal is put
    back as it was whatever happens."""

    def __init__(self, stream: TextIO | None = None) -> None:
        self._in = stream if stream is not None else sys.stdin
        self._raw = sys.platform != "win32" and self._in is not None and self._in.isatty()

    @property
    def needs_enter(self) -> bool:
        """True when a key counts only with Enter behind it."""
        return not self._raw

    @contextmanager
    def listening(self) -> Iterator[None]:
        """Keys come singly and are not echoed; Ctrl-C still stops."""
        if sys.platform == "win32" or not self._raw:
            yield
            return
        file = self._in.fileno()
        before = termios.tcgetattr(file)
        try:
            tty.setcbreak(file, termios.TCSANOW)
            yield
        finally:
            termios.tcsetattr(file, termios.TCSANOW, before)

    def forget(self) -> None:
        """Drop what was pressed before the question was there: that would be no answer to it.
        Call it before the question is shown, or a quick answer is dropped too."""
        if sys.platform != "win32" and self._raw:
            termios.tcflush(self._in.fileno(), termios.TCIFLUSH)

    def key(self) -> str:
        """One key; "" for several at once (a function key, a paste) or a bare Enter."""
        if not self._raw:
            line = self._in.readline() if self._in is not None else ""
            return line.strip()[:1] if line else STOP
        data = os.read(self._in.fileno(), 64)
        if data in (b"", b"\x04"):
            return STOP
        text = data.decode("utf-8", "replace")
        return text if len(text) == 1 else ""

    @contextmanager
    def typing(self) -> Iterator[None]:
        """Lines come whole and are echoed, for ``line``. Put the question inside: a line that is
        typed before the terminal takes lines would wait for a second Enter."""
        if sys.platform == "win32" or not self._raw:
            yield
            return
        file = self._in.fileno()
        before = termios.tcgetattr(file)
        lines = termios.tcgetattr(file)
        lines[3] |= termios.ICANON | termios.ECHO
        try:
            termios.tcsetattr(file, termios.TCSANOW, lines)
            yield
        finally:
            termios.tcsetattr(file, termios.TCSANOW, before)

    def line(self) -> str | None:
        """A typed line without its end; None when input has ended."""
        if self._in is None:
            return None
        if sys.platform == "win32" or not self._raw:
            text = self._in.readline()
            return text.rstrip("\r\n") if text else None
        data = os.read(self._in.fileno(), 4096)
        return data.decode("utf-8", "replace").rstrip("\r\n") if data else None
