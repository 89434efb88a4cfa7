"""A PostgreSQL server of our own: made in a temporary folder, reached by a UNIX socket alone,
ended and removed afterwards. Nothing of a server that this machine may run is touched.

The server refuses to run as root: under root it runs as the user ``postgres``, else as whoever
runs the tests. It sorts text as in German, which no code point order is, so that a query that
leaves the order to the server is found out. ``fsync`` is left on, as on a real one; the folder
lies in memory where there is room, so that a flush costs nothing: what a crash of the server
loses is the same, and a power cut is not tested.
"""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from urllib.parse import quote

import psycopg
import pytest

OWNER = "keeper"
"""The server's first user, let in without a password."""
PASSWORD = "w/ord@ #%:4"
"""What users made by `Postgres.user` have; it has every sign that a URL takes apart."""
ACCESS = f"local all {OWNER} trust\nlocal all all scram-sha-256\n"
MEMORY, ROOM = Path("/dev/shm"), 2 * 1024**3
DEBIAN = Path("/usr/lib/postgresql")


class Postgres:
    """A running server. Its databases are handed out by `database`, each empty."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._programs = _programs()
        self._made = count(1)
        self._as: dict[str, object] = {}
        if os.geteuid() == 0:
            user = _postgres_user()
            os.chown(folder, user.pw_uid, user.pw_gid)
            self._as = {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}
        self._run(
            "initdb", "--auth=trust", f"--username={OWNER}", "--encoding=UTF8",
            "--locale=C.UTF-8", "--locale-provider=icu", "--icu-locale=de-DE", "--no-sync",
            f"--pgdata={folder / 'data'}",
        )  # fmt: skip
        (folder / "data" / "pg_hba.conf").write_text(ACCESS)
        with (folder / "data" / "postgresql.conf").open("a") as settings:
            settings.write(
                f"listen_addresses = ''\nunix_socket_directories = '{folder}'\n"
                "timezone = 'Asia/Kathmandu'\nshared_buffers = 16MB\n"
            )

    def start(self) -> None:
        """Start it, after `stop` too."""
        self._run("pg_ctl", "start", "--wait", "--silent", f"--log={self.folder / 'log'}",
                  f"--pgdata={self.folder / 'data'}")  # fmt: skip

    def stop(self, mode: str = "fast") -> None:
        """Stop it; ``immediate`` is a crash: nothing is written any more, nobody is told."""
        self._run("pg_ctl", "stop", "--wait", "--silent", f"--mode={mode}",
                  f"--pgdata={self.folder / 'data'}")  # fmt: skip

    def is_running(self) -> bool:
        """Whether it was started and not stopped."""
        return (self.folder / "data" / "postmaster.pid").exists()

    def database(self, *options: str) -> str:
        """The name of a new database."""
        name = f"asfound_{next(self._made)}"
        self.sql(f"CREATE DATABASE {name} TEMPLATE template0 {' '.join(options)}")
        return name

    def user(self, options: str = "") -> str:
        """The name of a new user, who has `PASSWORD`."""
        name = f"user_{next(self._made)}"
        self.sql(f"CREATE ROLE {name} LOGIN PASSWORD '{PASSWORD}' {options}")
        return name

    def url(self, database: str, user: str = OWNER, password: str = "") -> str:
        """The address of a database, as ASFOUND_STORE takes it."""
        who = f"{user}:{quote(password, safe='')}" if password else user
        return f"postgresql+psycopg://{who}@/{database}?host={quote(str(self.folder), safe='')}"

    def sql(self, statement: str, database: str = "postgres") -> None:
        """Run a statement by a connection of its own, behind the store's back."""
        with self.connect(database) as connection:
            connection.execute(statement.encode())

    @contextmanager
    def connect(self, database: str = "postgres") -> Iterator[psycopg.Connection]:
        """A connection of its own, which commits every statement."""
        with psycopg.connect(
            host=str(self.folder), user=OWNER, dbname=database, autocommit=True
        ) as connection:
            yield connection

    def _run(self, program: str, *arguments: str) -> None:
        out = self.folder / f"{program}.out"
        # Into a file: the server inherits it, and a pipe would stay open as long as it runs.
        with out.open("w") as told:
            done = subprocess.run(
                [self._programs / program, *arguments], check=False, cwd=self.folder,
                stdin=subprocess.DEVNULL, stdout=told, stderr=subprocess.STDOUT,
                env={"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8"}, **self._as,
            )  # type: ignore[call-overload]  # fmt: skip  # user, group: only under root
        if done.returncode:
            said = " ".join(out.read_text(errors="replace").split())
            pytest.fail(f"PostgreSQL: {program} failed: {said}", pytrace=False)


@contextmanager
def postgres_server() -> Iterator[Postgres]:
    """Started, and ended and removed afterwards. Fails in one line when it cannot be started."""
    # Not below pytest's folders: only their owner may enter those, and a socket's path is short.
    roomy = MEMORY.is_dir() and shutil.disk_usage(MEMORY).free > ROOM
    folder = Path(tempfile.mkdtemp(prefix="asfound-pg-", dir=MEMORY if roomy else None))
    try:
        server = Postgres(folder)
        server.start()
        try:
            yield server
        finally:
            if server.is_running():
                server.stop("immediate")
    finally:
        shutil.rmtree(folder)


def _postgres_user() -> pwd.struct_passwd:
    try:
        return pwd.getpwnam("postgres")
    except KeyError:
        pytest.fail(
            "PostgreSQL: no user postgres, and the server does not run as root; "
            "tools/setup.sh test makes it", pytrace=False,
        )  # fmt: skip


def _programs() -> Path:
    """The folder with the server's programs; of several versions the newest."""
    found = sorted(
        (path.parent for path in DEBIAN.glob("*/bin/initdb")),
        key=lambda path: int(path.parent.name),
    )
    if found:
        return found[-1]
    elsewhere = shutil.which("initdb")
    if elsewhere is None:
        pytest.fail(
            "PostgreSQL is missing, and the store is tested on it; tools/setup.sh test installs it",
            pytrace=False,
        )
    return Path(elsewhere).resolve().parent
