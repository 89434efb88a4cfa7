"""Pairing: a code that is shown on the laptop lets one device in, once, for a few minutes."""

from __future__ import annotations

import hmac
import secrets
import threading
from collections import deque
from dataclasses import dataclass
from datetime import datetime, timedelta

from asfound.errors import UsageError
from asfound.jobs.visit_journal import tidy
from asfound.model.device import Device
from asfound.ports.clock import Clock
from asfound.ports.devices import Devices
from asfound.web.problems import Problem
from asfound.web.session import TOKEN_BYTES, token_hash

LETTERS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Signs of a code: without 0, O, 1 and I, which look alike. 32 of them: 5 bits each."""

CODE_LETTERS = 8
"""40 bits: at 20 attempts in 5 minutes nobody guesses it before it expires."""

LIVES = timedelta(minutes=5)
PER_ADDRESS, IN_ALL = 5, 20
"""Wrong codes within LIVES from one address, and from all together, before all have to wait."""

NAME_LETTERS = 40


@dataclass(frozen=True, slots=True)
class Code:
    """A pairing code and the moment when it is good no more."""

    text: str
    until: datetime

    @property
    def spoken(self) -> str:
        """The code in two groups, as it is shown and typed."""
        return f"{self.text[:4]}-{self.text[4:]}"


class Pairing:
    """At most one code at a time; a new one makes the one before worthless."""

    def __init__(self, devices: Devices, clock: Clock) -> None:
        self._devices = devices
        self._clock = clock
        self._code: Code | None = None
        self._wrong: deque[tuple[datetime, str]] = deque()
        self._lock = threading.Lock()

    def new_code(self) -> Code:
        """A fresh code."""
        text = "".join(secrets.choice(LETTERS) for _ in range(CODE_LETTERS))
        with self._lock:
            self._code = Code(text, self._clock.now() + LIVES)
            return self._code

    def code(self) -> Code | None:
        """The code that is good now; None when there is none."""
        with self._lock:
            good = self._code is not None and self._clock.now() < self._code.until
            return self._code if good else None

    def pair(self, typed: str, name: str, address: str) -> str:
        """Let the device in whose person typed the code, and return its token.

        Raises Problem (too many wrong codes), UsageError (wrong or expired code), StorageError.
        """
        given = "".join(char for char in typed.upper() if char in LETTERS)
        shown = tidy(name)[:NAME_LETTERS] or "phone"
        with self._lock:
            now = self._clock.now()
            self._refuse_guessing(now, address)
            code = self._code
            if code is None or now >= code.until or not hmac.compare_digest(code.text, given):
                self._wrong.append((now, address))
                raise UsageError("this code is not good, or no more; take the one on the laptop")
            self._code = None
            token = secrets.token_urlsafe(TOKEN_BYTES)
            device = Device(secrets.token_hex(8), shown, token_hash(token), now)
            self._devices.add(device)
            return token

    def _refuse_guessing(self, now: datetime, address: str) -> None:
        while self._wrong and now - self._wrong[0][0] > LIVES:
            self._wrong.popleft()
        mine = sum(item == address for _, item in self._wrong)
        if mine >= PER_ADDRESS or len(self._wrong) >= IN_ALL:
            raise Problem(429, "too many wrong codes; wait five minutes and take a new one")
