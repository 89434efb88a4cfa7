"""Settings of the pages: who signs, which language, light or dark. Kept in this browser."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import UsageError
from asfound.jobs.visit_journal import tidy
from asfound.web.context import THEMES, Asked, Form, remember
from asfound.web.session import LANGUAGE_COOKIE, NAME_COOKIE, THEME_COOKIE
from asfound.web.texts import LANGUAGES

router = APIRouter(prefix="/settings")


@router.get("")
def show(here: Asked) -> Response:
    """The form."""
    return here.page("settings.html.j2", saved="saved" in here.request.query_params)


@router.post("")
def save(here: Asked, form: Form) -> Response:
    """Keeps what was chosen."""
    theme, language = form.get("theme", ""), form.get("language", "")
    if theme not in THEMES or language not in ("", *LANGUAGES):
        raise UsageError("choose a look and a language that are offered")
    answer = here.go("/settings?saved=1")
    remember(answer, THEME_COOKIE, theme)
    remember(answer, LANGUAGE_COOKIE, language)
    remember(answer, NAME_COOKIE, tidy(form.get("name", "")))
    return answer
