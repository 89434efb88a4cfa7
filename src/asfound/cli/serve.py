"""`asfound serve`: the pages for laptop and phone, on this machine or on the local network."""

from __future__ import annotations

import errno
import io
import socket
import sys
import threading
import webbrowser
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import FrameType
from typing import Annotated

import segno
import typer
import uvicorn
from fastapi import FastAPI

from asfound.cli import output
from asfound.cli.home import Home, HomeOption, home_at
from asfound.cli.serve_parts import services
from asfound.errors import UsageError
from asfound.web.app import create_app
from asfound.web.context import Server as Pages
from asfound.web.pages.devices import pairing_address
from asfound.web.security import host_names
from asfound.web.services import Settings

LOOPBACK = "127.0.0.1"
PORT = 8417
NOWHERE = ("192.0.2.1", 9)
"""An address for documentation (RFC 5737): asking the way to it sends nothing."""

END_S = 3
"""How long answers under way may take when the server is told to end."""


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="serve")(serve_command)


def serve_command(
    lan: Annotated[
        bool, typer.Option("--lan", help="Open to the local network; phones pair with a code.")
    ] = False,
    port: Annotated[int, typer.Option(metavar="N", min=1, max=65535, help="Port.")] = PORT,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Leave the browser alone.")
    ] = False,
    recordings: Annotated[
        list[str] | None,
        typer.Option(
            metavar="DIR[=NAME]",
            help="A folder whose recordings may be looked at from a page; may be repeated.",
        ),
    ] = None,
    bags: Annotated[
        list[str] | None,
        typer.Option(
            metavar="DIR[=NAME]",
            help="A folder with bags that may be verified from a page; may be repeated.",
        ),
    ] = None,
    stick: Annotated[
        list[str] | None,
        typer.Option(
            metavar="DIR[=NAME]",
            help="Where a firmware stick is mounted, to be looked at from a page; may be repeated.",
        ),
    ] = None,
    home: HomeOption = None,
) -> None:
    """Serve the pages until Ctrl-C: to this machine alone, or with --lan to paired devices, too."""
    place = home_at(home)
    place.fleet()  # whoever has no fleet file is told before a page is
    roots = named_folders(recordings or [])
    packed = named_folders(bags or [], "--bags", "bags")
    sticks = named_folders(stick or [], "--stick", "stick")
    addresses = [LOOPBACK, *([lan_address()] if lan else [])]
    sockets = [listening(address, port) for address in addresses]
    try:
        _serve(pages_of(place, roots, addresses, port, packed, sticks), sockets, port, no_browser)
    finally:
        for item in sockets:
            item.close()


def pages_of(
    place: Home,
    roots: Mapping[str, Path],
    addresses: list[str],
    port: int,
    bags: Mapping[str, Path] | None = None,
    sticks: Mapping[str, Path] | None = None,
) -> FastAPI:
    """The pages of a home folder, reached at ``addresses``: this machine's own first. ``roots``
    are folders with recordings, ``bags`` with bags, ``sticks`` where sticks are mounted, by
    name."""
    lan = addresses[1:]
    settings = Settings(
        host_names([*addresses, "localhost", "::1"], port),
        bool(lan),
        f"http://{lan[0]}:{port}" if lan else "",
    )
    return create_app(services(place, roots, bags, sticks), settings)


def _serve(app: FastAPI, sockets: list[socket.socket], port: int, no_browser: bool) -> None:
    pages: Pages = app.state.server
    address = f"http://localhost:{port}/"
    output.say(f"asfound: pages at {address} (Ctrl-C ends)")
    if pages.settings.lan:
        _show_code(pages)
    if not no_browser:
        # In a thread: some browsers keep their starter waiting.
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=END_S,
    )
    try:
        _Server(config, pages).run(sockets=sockets)
    except KeyboardInterrupt:
        # The server has ended by then: for it Ctrl-C is the way to end, and no error.
        output.say("asfound: the pages are closed; everything done is kept")


class _Server(uvicorn.Server):
    """A server that ends its event streams when it is told to end, and so ends at once."""

    def __init__(self, config: uvicorn.Config, pages: Pages) -> None:
        super().__init__(config)
        self._pages = pages

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """A signal came."""
        self._pages.hub.close()
        super().handle_exit(sig, frame)


def _show_code(pages: Pages) -> None:
    code = pages.pairing.new_code()
    address = pages.settings.address
    if sys.stdout.isatty():
        drawn = io.StringIO()
        made = segno.make(pairing_address(address, code.text), error="m")
        made.terminal(drawn, border=2, compact=True)
        output.raw(drawn.getvalue())
    output.say(f"On the phone: scan the picture, or open {address}/pair and type {code.spoken}")
    output.say(f"The code lets one phone in until {code.until.astimezone():%H:%M}; more: {_MORE}")


_MORE = "page Devices, on this machine"


def named_folders(
    texts: Sequence[str], option: str = "--recordings", what: str = "recordings"
) -> dict[str, Path]:
    """Folders by name, from DIR or DIR=NAME. Raises UsageError.

    One that is not there yet is only warned about: a drive may be plugged in later.
    """
    made: dict[str, Path] = {}
    for text in texts:
        folder, equals, name = text.rpartition("=")
        # A folder's own name may hold the sign.
        if not equals or not folder or Path(text).is_dir():
            folder, name = text, ""
        path = Path(folder).absolute()
        name = " ".join(name.split()) or path.name or str(path)
        if path.exists() and not path.is_dir():
            raise UsageError(f"{option} {text}: is a file; name the folder that it lies in")
        if name in made:
            raise UsageError(
                f"{option} {text}: two folders are called {name!r}; name one: {folder}=NAME"
            )
        if not path.is_dir():
            output.warn(f"asfound: {folder} is not there now; its {what} cannot be chosen yet")
        made[name] = path
    return made


def lan_address() -> str:
    """This machine's address on the local network. Raises UsageError when it has none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(NOWHERE)
            address: str = asking.getsockname()[0]
        except OSError:
            address = ""
    if not address or address.startswith(("127.", "0.")):
        raise UsageError(
            "this machine is on no network; join a Wi-Fi or open a hotspot, or leave --lan out"
        )
    return address


def listening(address: str, port: int) -> socket.socket:
    """A socket that listens there. Raises UsageError."""
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((address, port))
        # Bound alone does not keep others away: two sockets may be bound before one listens.
        made.listen(socket.SOMAXCONN)
    except OSError as error:
        made.close()
        raise _refused(error, address, port) from None
    return made


def _refused(error: OSError, address: str, port: int) -> UsageError:
    if error.errno == errno.EADDRINUSE:
        return UsageError(
            f"port {port} is taken, perhaps by another `asfound serve`; choose another: --port N"
        )
    if error.errno == errno.EACCES:
        return UsageError(f"port {port} is reserved to the system; choose another: --port {PORT}")
    reason = error.strerror or type(error).__name__
    return UsageError(f"{address}:{port}: {reason}; choose another port: --port N")
