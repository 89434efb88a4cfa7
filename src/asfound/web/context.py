"""What a page or resource is handed with each request: services, texts, and who asks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Annotated, Any
from urllib.parse import quote, unquote
from zoneinfo import ZoneInfo

from fastapi import Depends, Request
from markupsafe import Markup
from starlette.responses import HTMLResponse, RedirectResponse, Response

from asfound.calc.plain_text import plain
from asfound.errors import AsfoundError
from asfound.model.plot import Plot
from asfound.web.bundling import Bundles
from asfound.web.copying import Copies
from asfound.web.events import Hub
from asfound.web.limits import USUAL, body_limit
from asfound.web.pairing import Pairing
from asfound.web.plots import drawn
from asfound.web.problems import Problem
from asfound.web.reading import Reader
from asfound.web.render import Renderer
from asfound.web.requesting import Looks
from asfound.web.security import SAFE, Visitor, cookie
from asfound.web.services import Services, Settings
from asfound.web.session import (
    LANGUAGE_COOKIE,
    NAME_COOKIE,
    THEME_COOKIE,
    form_token,
    token_fits,
)
from asfound.web.statics import Statics
from asfound.web.sticking import StickBook
from asfound.web.tasks import Tasks
from asfound.web.texts import Texts, best_language
from asfound.web.verifying import Verified

THEMES = ("system", "light", "dark")
FORM_FIELDS = 200
FORM_FILES = 60
TOKEN_HEADER = "X-CSRF-Token"


@dataclass(frozen=True)
class Server:
    """What lives as long as the server: kept in the application's state."""

    services: Services
    settings: Settings
    statics: Statics
    renderer: Renderer
    hub: Hub
    tasks: Tasks
    pairing: Pairing
    reader: Reader
    looks: Looks
    verified: Verified
    copies: Copies
    bundles: Bundles
    sticks: StickBook = field(default_factory=StickBook)


@dataclass(frozen=True)
class Here:
    """One request: what it may use, in which language it is answered, and who asks."""

    request: Request
    server: Server
    visitor: Visitor
    language: str

    @property
    def services(self) -> Services:
        """The machinery behind the pages."""
        return self.server.services

    @property
    def name(self) -> str:
        """The name that acts are signed with; "" until somebody gave one."""
        return unquote(self.request.cookies.get(NAME_COOKIE, ""))

    @property
    def theme(self) -> str:
        """How the pages look: "system", "light" or "dark"."""
        chosen = self.request.cookies.get(THEME_COOKIE, "")
        return chosen if chosen in THEMES else THEMES[0]

    @property
    def form_token(self) -> str:
        """What this session's forms carry."""
        return form_token(self.services.devices.secret(), self.visitor.session)

    @property
    def texts(self) -> Texts:
        """The catalogue of the language."""
        return self.server.renderer.texts[self.language]

    def _(self, text: str) -> str:
        """A text in the language."""
        return self.texts.gettext(text)

    def told(self, text: object) -> str:
        """What a job said, or an error says, in the language."""
        return self.texts.told(text)

    def zone(self) -> ZoneInfo:
        """The fleet's time zone; UTC while no fleet file can be read."""
        try:
            return ZoneInfo(self.services.shelf.fleet().time_zone)
        except AsfoundError:
            return ZoneInfo("UTC")

    def still_allowed(self) -> bool:
        """Whether whoever asked may still ask: true on this machine, and for a device until it is
        dropped."""
        if self.visitor.local:
            return True
        try:
            return self.visitor.device in self.services.devices.devices()
        except AsfoundError:
            # Nobody can tell any more: then nothing is told.
            return False

    def now(self) -> datetime:
        """The present moment."""
        return self.services.desk.clock.now()

    def page(self, template: str, status: int = 200, **values: Any) -> HTMLResponse:
        """A page from a template; ``values`` are what it shows."""
        html = self.server.renderer.html(template, self.language, here=self, **values)
        return HTMLResponse(html, status_code=status)

    def plot(self, plot: Plot) -> Markup:
        """A plot as a figure in the page's colours and language."""
        return drawn(plot, self.services.tools.plotter(), self.texts)

    def go(self, path: str) -> RedirectResponse:
        """Lead the browser on after a form was taken."""
        return RedirectResponse(path, status_code=303)


def remember(response: Response, name: str, value: str) -> None:
    """Keep a choice of the person's in the browser."""
    response.headers.append("Set-Cookie", cookie(name, quote(plain(value), safe="")))


def here_of(request: Request) -> Here:
    """What belongs to a request."""
    server: Server = request.app.state.server
    visitor: Visitor = request.state.visitor
    language = best_language(
        request.headers.get("accept-language", ""), request.cookies.get(LANGUAGE_COOKIE, "")
    )
    return Here(request, server, visitor, language)


async def checked(request: Request) -> None:
    """Raises Problem when a request that changes something does not carry its session's token:
    in the field ``csrf`` of a form, or in the header X-CSRF-Token."""
    if request.method in SAFE:
        return
    token = request.headers.get(TOKEN_HEADER, "")
    if not token and _is_form(request):
        form = await request.form(max_files=files_allowed(request), max_fields=FORM_FIELDS)
        token = str(form.get("csrf", ""))
    here = here_of(request)
    if not token_fits(here.services.devices.secret(), here.visitor.session, token):
        raise Problem(403, "this page is too old to be sent; load it again and send it once more")


def files_allowed(request: Request) -> int:
    """How many files a form that is sent to this address may bring."""
    return FORM_FILES if body_limit(request.url.path) > USUAL else 0


async def typed(request: Request) -> Mapping[str, str]:
    """The fields of a form, as text."""
    if not _is_form(request):
        raise Problem(400, "a form was expected; send one")
    form = await request.form(max_files=0, max_fields=FORM_FIELDS)
    return {name: value for name, value in form.items() if isinstance(value, str)}


def _is_form(request: Request) -> bool:
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    return kind in ("application/x-www-form-urlencoded", "multipart/form-data")


Asked = Annotated[Here, Depends(here_of)]
"""The parameter by which a page or resource gets its Here."""

Form = Annotated[Mapping[str, str], Depends(typed)]
"""The parameter by which a page gets the fields of its form."""
