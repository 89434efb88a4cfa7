"""Two hosts with a wire between them, on one machine (tests only).

Each is a network namespace of its own (namespaces(7), veth(4)), in a user namespace, so that nobody
has to be root. Where the system gives none, the second host is this machine, reached by its address
on the network: to a server that is another device, too, because it does not come from loopback.
"""

from __future__ import annotations

import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from asfound.cli.serve import lan_address

LAPTOP, PHONE = "10.77.0.1", "10.77.0.2"
"""Addresses of a private network (RFC 1918)."""

READY_S = 20.0


@dataclass(frozen=True)
class Host:
    """A host: programs run on it with ``prefix`` before them."""

    prefix: tuple[str, ...]
    address: str

    def command(self, *words: str) -> list[str]:
        """The command line that runs there."""
        return [*self.prefix, *words]

    def program(self, words: str, folder: Path) -> Path:
        """A file that starts a program there, for those who want one name."""
        path = folder / f"{Path(words).name}-{self.address}"
        line = " ".join([*self.prefix, words])
        path.write_text(f'#!/bin/sh\nexec {line} "$@"\n')
        path.chmod(0o755)
        return path


@contextmanager
def two_hosts() -> Iterator[tuple[Host, Host]]:
    """(laptop, phone)."""
    held: list[subprocess.Popen[bytes]] = []
    try:
        hosts = _apart(held)
    except (OSError, subprocess.SubprocessError):
        _end(held)
        hosts = Host((), lan_address()), Host((), lan_address())
    try:
        yield hosts
    finally:
        _end(held)


def _end(held: list[subprocess.Popen[bytes]]) -> None:
    while held:
        process = held.pop()
        process.kill()
        process.communicate()


def _apart(held: list[subprocess.Popen[bytes]]) -> tuple[Host, Host]:
    """Two namespaces and the wire. Raises OSError, SubprocessError."""
    ip = shutil.which("ip") or "/usr/sbin/ip"
    laptop = _held(held, ["unshare", "--map-root-user", "--net"])
    phone = _held(held, [*laptop, "unshare", "--net"])
    wire = ["link", "add", "wire0", "type", "veth", "peer", "name", "wire1"]
    _run([*laptop, ip, *wire, "netns", str(held[1].pid)])
    for host, name, address in ((laptop, "wire0", LAPTOP), (phone, "wire1", PHONE)):
        _run([*host, ip, "address", "add", f"{address}/24", "dev", name])
        _run([*host, ip, "link", "set", "lo", "up"])
        _run([*host, ip, "link", "set", name, "up"])
    # A way to elsewhere, as a Wi-Fi gives one: the laptop's own address is found by it.
    _run([*laptop, ip, "route", "add", "default", "via", PHONE])
    return Host(tuple(laptop), LAPTOP), Host(tuple(phone), PHONE)


def _held(held: list[subprocess.Popen[bytes]], apart: list[str]) -> list[str]:
    """A process that keeps a fresh namespace; returns what enters it."""
    process = subprocess.Popen([*apart, "cat"], stdin=subprocess.PIPE)
    held.append(process)
    others = {"", _net("self"), *(_net(item.pid) for item in held[:-1])}
    end = time.monotonic() + READY_S
    while _net(process.pid) in others or _name(process.pid) != "cat":
        if process.poll() is not None or time.monotonic() > end:
            raise OSError("this system gives no network namespace")
        time.sleep(0.02)
    return [
        "nsenter", "--target", str(process.pid), "--user", "--net", "--preserve-credentials",
    ]  # fmt: skip


def _net(pid: int | str) -> str:
    try:
        return str(Path(f"/proc/{pid}/ns/net").readlink())
    except OSError:
        return ""


def _name(pid: int) -> str:
    try:
        return Path(f"/proc/{pid}/comm").read_text().strip()
    except OSError:
        return ""


def _run(command: list[str]) -> None:
    subprocess.run(command, check=True, capture_output=True)
