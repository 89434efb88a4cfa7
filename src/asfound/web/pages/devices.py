"""Devices: the pairing code with its picture, who is paired, and the page a phone pairs on."""

from __future__ import annotations

import io

import segno
from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError, NotFound
from asfound.web.context import Asked, Form, Here
from asfound.web.problems import Problem, kind_of
from asfound.web.security import cookie
from asfound.web.session import DEVICE_COOKIE

router = APIRouter()
MODULE_PX = 8
"""Side of a module of the code's picture [px]."""


@router.get("/devices")
def show(here: Asked) -> Response:
    """Paired devices and, while one is good, the pairing code."""
    _local_only(here)
    return here.page(
        "devices.html.j2",
        code=here.server.pairing.code(),
        devices=here.services.devices.devices(),
        address=here.server.settings.address,
    )


@router.post("/devices/code")
def new_code(here: Asked) -> Response:
    """Makes a fresh pairing code."""
    _local_only(here)
    here.server.pairing.new_code()
    return here.go("/devices")


@router.get("/devices/code.svg")
def picture(here: Asked) -> Response:
    """The pairing code as a QR code (ISO/IEC 18004), black on white in any theme."""
    _local_only(here)
    code = here.server.pairing.code()
    if code is None:
        raise NotFound("there is no pairing code now; make a new one")
    drawn = io.BytesIO()
    made = segno.make(pairing_address(here.server.settings.address, code.text), error="m")
    made.save(drawn, kind="svg", scale=MODULE_PX, border=4, light="#ffffff", xmldecl=False)
    return Response(drawn.getvalue(), media_type="image/svg+xml")


@router.post("/devices/drop")
def drop(here: Asked, form: Form) -> Response:
    """Lets a device in no more."""
    _local_only(here)
    here.services.devices.drop(form.get("device", ""))
    return here.go("/devices")


@router.get("/pair")
def ask(here: Asked) -> Response:
    """The page that a phone opens: by the picture with the code behind the #, else typed."""
    _lan_only(here)
    return here.page("pair.html.j2", error=None, name="")


@router.post("/pair")
def pair(here: Asked, form: Form) -> Response:
    """Lets the device in when the code is good."""
    _lan_only(here)
    client = here.request.client
    address = client.host if client else ""
    name = form.get("name", "")
    try:
        token = here.server.pairing.pair(form.get("code", ""), name, address)
    except (AsfoundError, Problem) as error:
        return here.page("pair.html.j2", kind_of(error).status, error=error, name=name)
    answer = here.go("/")
    answer.headers.append("Set-Cookie", cookie(DEVICE_COOKIE, token))
    return answer


def pairing_address(address: str, code: str) -> str:
    """What the picture says. A browser never sends what stands behind the # (RFC 3986, 3.5)."""
    return f"{address}/pair#{code}"


def _local_only(here: Here) -> None:
    _lan_only(here)
    if not here.visitor.local:
        raise Problem(403, "devices are paired and dropped at the laptop itself")


def _lan_only(here: Here) -> None:
    if not here.server.settings.lan:
        raise NotFound("this server is not open to the local network; start it with --lan")
