"""Templates to HTML: one environment a language, everything escaped, nothing undefined."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from babel.dates import format_date, format_datetime
from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from asfound.jobs.strip_drawing import millimetres
from asfound.units import down_text
from asfound.version import VERSION
from asfound.web.figures import Figures
from asfound.web.slugs import slug
from asfound.web.statics import Statics, load_statics
from asfound.web.texts import LANGUAGES, Texts, load_texts

VISIT = re.compile(r"\bVISIT\b")
"""What a procedure's text says for the visit's id: a command can then be copied as it stands."""

CLOCK = "HH:mm"
"""Unicode Technical Standard 35, Date Format Patterns: 24 hours, as the trade writes times."""

DAYS = {"en": "d MMM yyyy", "de": "d. MMM yyyy"}
"""The same, for days, by language."""


class Renderer:
    """Makes pages. ``texts`` are the catalogues by language."""

    def __init__(self, texts: Mapping[str, Texts], statics: Statics) -> None:
        self.texts = texts
        self._environments = {tag: _environment(tag, texts[tag], statics) for tag in texts}

    def html(self, template: str, language: str, **values: Any) -> str:
        """A page. Raises KeyError for a language that is not there."""
        return self._environments[language].get_template(template).render(**values)


@cache
def load_renderer() -> Renderer:
    """The pages in every language; a template is compiled once in a process."""
    return Renderer(load_texts(), load_statics())


def _environment(tag: str, texts: Texts, statics: Statics) -> Environment:
    made = Environment(
        # The footage strip is drawn by the same parts as in files.
        loader=ChoiceLoader(
            [PackageLoader("asfound.web", "templates"), PackageLoader("asfound", "data")]
        ),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n"],
        auto_reload=False,
    )
    install: Any = made.install_gettext_translations  # type: ignore[attr-defined] # i18n adds it
    install(texts, newstyle=True)
    times = Times(tag)
    made.globals.update(
        static=statics.url,
        language=tag,
        languages=LANGUAGES,
        version=VERSION,
        moment=times.moment,
        day=times.day,
    )
    figures = Figures(tag)
    made.globals.update(size=figures.size, percent=figures.percent, hundredths=figures.hundredths)
    made.filters["slug"] = slug
    made.filters["mm"] = millimetres
    # How far a lens shows enough: to a tenth of a metre, and never further than it does.
    made.filters["down"] = lambda metres: down_text(metres, 1)
    made.filters["of_visit"] = lambda text, visit: VISIT.sub(visit, text)
    # What jobs say, and errors: in the page's language, without the command line's way out.
    made.filters["told"] = texts.told
    # What stands beside a step: a job's line, or a person's own words, which stay as they are.
    made.filters["noted"] = texts.phrases.whole
    made.filters["flat"] = lambda text: " ".join(text.split())
    # For texts that are data: translated when the catalogue has them, and escaped like any value.
    made.filters["said"] = lambda text: texts.gettext(text) if text else ""
    return made


class Times:
    """Moments as a language writes them, in the fleet's zone, and exactly for programs."""

    def __init__(self, tag: str) -> None:
        self._tag = tag

    def moment(self, at: datetime, zone: ZoneInfo, now: datetime, seconds: bool = False) -> Markup:
        """A ``<time>``: the time alone when it was today, else with its date."""
        local, today = at.astimezone(zone), now.astimezone(zone)
        clock = f"{CLOCK}:ss" if seconds else CLOCK
        pattern = clock if local.date() == today.date() else f"{DAYS[self._tag]}, {clock}"
        return _time(local, format_datetime(local, pattern, locale=self._tag))

    def day(self, at: datetime, zone: ZoneInfo) -> Markup:
        """A ``<time>`` with the date alone."""
        local = at.astimezone(zone)
        return _time(local, format_date(local, DAYS[self._tag], locale=self._tag))


def _time(local: datetime, text: str) -> Markup:
    exact = local.isoformat(timespec="seconds")
    return Markup('<time datetime="{}">{}</time>').format(exact, text)
