"""Vehicles: find one by number or plate; state at a glance."""

from __future__ import annotations

from urllib.parse import urlencode

from fastapi import APIRouter
from starlette.responses import Response

from asfound.web.context import Asked
from asfound.web.view_fleet import Wanted, vehicle_index, vehicle_page

router = APIRouter()


@router.get("/vehicles")
def vehicles(here: Asked) -> Response:
    """The list, or the part of it that was asked for."""
    wanted = wanted_from(dict(here.request.query_params))
    index = vehicle_index(here.services)

    def address(number: int) -> str:
        asked = {
            "q": wanted.text,
            "depot": wanted.depot,
            "class": wanted.vehicle_class,
            "open": "1" if wanted.with_visit else "",
            "page": str(number) if number > 1 else "",
        }
        query = urlencode({name: value for name, value in asked.items() if value})
        return f"/vehicles?{query}" if query else "/vehicles"

    return here.page(
        "vehicles.html.j2",
        wanted=wanted,
        index=index,
        shown=vehicle_page(wanted, here.services),
        address=address,
    )


def wanted_from(query: dict[str, str]) -> Wanted:
    """What a query asks for; a page number that is none is the first."""
    page = query.get("page", "1")
    return Wanted(
        query.get("q", "").strip(),
        query.get("depot", ""),
        query.get("class", ""),
        query.get("open", "") == "1",
        int(page) if page.isascii() and page.isdecimal() and len(page) < 7 else 1,
    )
