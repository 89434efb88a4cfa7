"""Who may ask, from where, and how large: decided before any page or resource is reached.

A Host that is not ours is refused (a name of somebody else's that was made to point here, "DNS
rebinding"); an Origin that is not ours may change nothing; a device of the local network that is
not paired sees the pairing page alone. Every answer carries the same headers.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Iterable
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from asfound.errors import AsfoundError
from asfound.model.device import Device
from asfound.web.limits import body_limit
from asfound.web.problems import Problem, problem_response
from asfound.web.services import Services, Settings
from asfound.web.session import (
    DEVICE_COOKIE,
    SESSION_COOKIE,
    YEAR_S,
    new_session,
    session_name,
    token_hash,
)
from asfound.web.step_pages import N_

SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
"""Methods that change nothing (RFC 9110, section 9.2.1)."""

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
"""Content Security Policy Level 3 (W3C): nothing inline, nothing from elsewhere, no frames."""

HEADERS = {
    "Content-Security-Policy": POLICY,
    # Not "no-referrer": with it browsers send the Origin of a form as "null" (Fetch Standard,
    # "append a request Origin header"), and a form of ours could not be told from a stranger's.
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "geolocation=(), microphone=(), payment=()",
}


@dataclass(frozen=True, slots=True)
class Visitor:
    """Who asks: ``local`` from this very machine; ``device`` when it is a paired one."""

    session: str
    local: bool
    device: Device | None = None


class Guard:
    """Lets a request through to ``app``, or answers it itself."""

    def __init__(self, app: ASGIApp, services: Services, settings: Settings) -> None:
        self._app = app
        self._services = services
        self._settings = settings

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """ASGI 3."""
        if scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
            return
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        cookies = _cookies(headers.get("cookie", ""))
        fresh = ""
        try:
            self._check(scope, headers)
            secret = self._services.devices.secret()
            name = session_name(secret, cookies.get(SESSION_COOKIE, ""))
            if name is None:
                fresh = new_session(secret)
                name = fresh.partition(".")[0]
            visitor = Visitor(name, is_local(scope), self._device(cookies.get(DEVICE_COOKIE, "")))
        except (Problem, AsfoundError) as error:
            answer: Response = problem_response(error, scope["path"])
            await answer(scope, receive, _with_headers(send, scope["path"], ""))
            return
        send = _with_headers(send, scope["path"], fresh)
        if not self._may_enter(scope, visitor):
            await _turned_away(scope, headers)(scope, receive, send)
            return
        scope.setdefault("state", {})["visitor"] = visitor
        await self._app(scope, _counted(receive, body_limit(scope["path"])), send)

    def _check(self, scope: Scope, headers: Headers) -> None:
        """Raises Problem for a host or origin that is not ours, and for a body too large."""
        host = headers.get("host", "").lower()
        if host not in self._settings.hosts:
            raise Problem(421, "this server does not answer to that name; open it by its address")
        if scope["method"] not in SAFE:
            origin = headers.get("origin")
            site = headers.get("sec-fetch-site", "same-origin")
            if origin is not None and origin.lower() != f"http://{host}":
                raise Problem(403, "another site may change nothing here")
            if site not in ("same-origin", "none"):
                raise Problem(403, "another site may change nothing here")
        length = headers.get("content-length", "0")
        limit = body_limit(scope["path"])
        if not length.isdecimal() or int(length) > limit:
            raise Problem(413, f"more than {limit} bytes were sent; send less at once")

    def _device(self, token: str) -> Device | None:
        if not token:
            return None
        held = token_hash(token)
        known = self._services.devices.devices()
        return next((item for item in known if item.token_hash == held), None)

    def _may_enter(self, scope: Scope, visitor: Visitor) -> bool:
        if visitor.local or visitor.device is not None:
            return True
        path: str = scope["path"]
        return self._settings.lan and (path == "/pair" or path.startswith("/static/"))


def is_local(scope: Scope) -> bool:
    """True when the connection comes from this machine. A forwarded address is not believed."""
    client = scope.get("client")
    if not client:
        return False
    try:
        at = ipaddress.ip_address(client[0])
    except ValueError:
        return False
    mapped = at.ipv4_mapped if isinstance(at, ipaddress.IPv6Address) else None
    return (mapped or at).is_loopback


def _cookies(header: str) -> dict[str, str]:
    jar: SimpleCookie = SimpleCookie()
    try:
        jar.load(header)
    except CookieError:
        return {}
    return {name: item.value for name, item in jar.items()}


def _turned_away(scope: Scope, headers: Headers) -> Response:
    """A browser is led to the pairing page; a program is told."""
    wants_page = "text/html" in headers.get("accept", "")
    if wants_page and scope["method"] in SAFE and not scope["path"].startswith("/api/"):
        return RedirectResponse("/pair", status_code=303)
    detail = N_("this device is not paired; open /pair on it and type the code the laptop shows")
    return problem_response(Problem(401, detail), scope["path"])


def _with_headers(send: Send, path: str, session: str) -> Send:
    """``send`` that adds the headers every answer carries, and a fresh session's cookie."""

    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            if not path.startswith("/static/"):
                headers.setdefault("Cache-Control", "no-store")
                if session:
                    headers.append("Set-Cookie", cookie(SESSION_COOKIE, session))
        await send(message)

    return sending


def cookie(name: str, value: str, seconds: int = YEAR_S) -> str:
    """A Set-Cookie line: no script reads it, no other site sends it."""
    return f"{name}={value}; Path=/; Max-Age={seconds}; HttpOnly; SameSite=Strict"


def _counted(receive: Receive, limit: int) -> Receive:
    """``receive`` that stops a body which is longer than it said it would be."""
    seen = 0

    async def receiving() -> Message:
        nonlocal seen
        message = await receive()
        if message["type"] == "http.request":
            seen += len(message.get("body", b""))
            if seen > limit:
                raise Problem(413, f"more than {limit} bytes were sent; send less at once")
        return message

    return receiving


def host_names(addresses: Iterable[str], port: int) -> frozenset[str]:
    """The Host headers by which a server at ``addresses`` is reached (RFC 9110, section 7.2)."""
    names = {f"[{item}]" if ":" in item else item.lower() for item in addresses}
    with_port = {f"{name}:{port}" for name in names}
    return frozenset(with_port | names if port == 80 else with_port)
