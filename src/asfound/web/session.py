"""Sessions without a store: a random name, signed with the server's secret.

A session outlives the server: after a restart with the same secret, pages that are still open
can send what was typed. It says nothing about who somebody is; it ties a form to the browser that
asked for it.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets

SESSION_COOKIE = "asfound_session"
DEVICE_COOKIE = "asfound_device"
THEME_COOKIE = "asfound_theme"
LANGUAGE_COOKIE = "asfound_language"
NAME_COOKIE = "asfound_name"

NAME_BYTES = 16
TOKEN_BYTES = 32
YEAR_S = 365 * 24 * 3600


def new_session(secret: bytes) -> str:
    """A fresh session's cookie."""
    name = secrets.token_hex(NAME_BYTES)
    return f"{name}.{_signed(secret, 'session', name)}"


def session_name(secret: bytes, cookie: str) -> str | None:
    """The session that a cookie is of; None when it is not ours."""
    name, _, signature = cookie.partition(".")
    good = hmac.compare_digest(
        _signed(secret, "session", name).encode(), signature.encode("utf-8", "replace")
    )
    return name if good and name else None


def form_token(secret: bytes, session: str) -> str:
    """What a form of this session carries, so that no other site can send it."""
    return _signed(secret, "form", session)


def token_fits(secret: bytes, session: str, token: str) -> bool:
    """True when a form's token is of this session."""
    return hmac.compare_digest(
        form_token(secret, session).encode(), token.encode("utf-8", "replace")
    )


def token_hash(token: str) -> str:
    """What is kept of a device's token."""
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()


def _signed(secret: bytes, use: str, text: str) -> str:
    return hmac.new(secret, f"{use}:{text}".encode("utf-8", "replace"), hashlib.sha256).hexdigest()
