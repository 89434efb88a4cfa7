"""The re-key sheet as one web page that needs nothing else: for a phone beside the monitor."""

from __future__ import annotations

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape

from asfound.jobs.report_rekey import PrintRekey, rekey_data
from asfound.model.journal import rfc3339

TEMPLATE = "rekey.html.j2"


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("asfound", "data"),
        autoescape=select_autoescape(enabled_extensions=("html.j2",)),
        undefined=StrictUndefined,
        trim_blocks=True,
    )


def rekey_page(request: PrintRekey) -> str:
    """The sheet as HTML: no script, no outside resource, printable on A4, light and dark."""
    data = rekey_data(request)
    made = rfc3339(request.made_at)[:16].replace("T", " ") + " UTC"
    return _environment().get_template(TEMPLATE).render(data, made=made)
