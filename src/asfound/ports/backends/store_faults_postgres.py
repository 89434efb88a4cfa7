"""What PostgreSQL's refusals mean for a person: one line for each class of its error codes.

Codes: PostgreSQL 15 documentation, appendix A "PostgreSQL Error Codes". Why a connection was not
made has no code on this side; the server's words are looked at, and shown where they are new.
"""

from __future__ import annotations

import re

from asfound.errors import AsfoundError, IntegrityError, StorageError, UsageError

LOST = (
    "the connection to the server broke off; look whether the last step was kept, and do it "
    "again if not"
)
_HELD = "another program holds the database; close it and do the last step again"
_AGAIN = "someone else wrote in between; reload and do it again"
_FOREIGN = "is damaged or not a database of asfound; bring it back from a copy"
_STORAGE = {
    "53100": "the server's disk is full; free some space there and do the last step again",
    "53200": "the server is out of memory; try again later",
    "53300": "the server has no connection left; close some programs or raise max_connections",
    "25006": "the database is read-only; name the server that takes writes",
    "42501": "permission denied; let the database's owner open it once with this asfound, or "
    "grant this user its tables",
    "55P03": _HELD,
    "57014": "the server stopped the work (statement_timeout); do the last step again",
    "58030": "the server's disk reports a fault; check that disk and do the last step again",
}
_INTEGRITY = {
    "23505": _AGAIN,
    "40001": _AGAIN,
    "40P01": _AGAIN,
    "42P01": _FOREIGN,
    "42703": _FOREIGN,
}
_LOST = ("08", "57P")
_DAMAGED = "XX"
_ODD_VALUE = "22"

_REFUSED = (
    (r"invalid\s(connection|integer|URI|sslmode)",
     "an option of the URL is not one that the server's library knows; mend the URL"),
    (r"authentication\sfailed|no\spassword\ssupplied|SCRAM",
     "the server refuses this user or password; mend the URL, or keep the password in ~/.pgpass"),
    (r'database\s"[^"]*"\sdoes\snot\sexist',
     "there is no such database on the server; make it there (createdb), or mend the URL"),
    (r'role\s"[^"]*"\sdoes\snot\sexist',
     "the server knows no such user; mend the URL, or make the user there (createuser)"),
    (r"no\spg_hba\.conf\sentry",
     "the server lets this user in from elsewhere only; its pg_hba.conf says from where"),
    (r"too\smany\s(connections|clients)|remaining\sconnection\sslots", _STORAGE["53300"]),
    (r"database\ssystem\sis\s(starting\sup|shutting\sdown|in\srecovery|not\syet\saccepting)",
     "the server is starting or stopping; try again in a minute"),
    (r"timeout\sexpired|timed\sout",
     "the server does not answer; check network and address, and try again"),
    (r"translate\shost\sname|resolve\shost|service\snot\sknown|nodename",
     "no such host; mend the URL, or check the network"),
    (r"connection\srefused|no\ssuch\sfile|no\sroute\sto\shost|unreachable",
     "no server answers there; start it, or mend the URL"),
    (r"\bSSL\b|certificate", "no safe connection could be made; check sslmode and certificates"),
)  # fmt: skip


def postgres_fault(error: BaseException, code: str | None, lost: bool, place: str) -> AsfoundError:
    """A driver's error with its code (None: without) as one line naming the database; ``lost``:
    a connection that had been made is gone."""
    code = code or ""
    if code in _STORAGE:
        return StorageError(f"{place}: {_STORAGE[code]}")
    if code in _INTEGRITY:
        return IntegrityError(f"{place}: {_INTEGRITY[code]}")
    if code.startswith(_ODD_VALUE):
        return UsageError(f"{place}: takes no such value ({_words(error)}); type it anew")
    if code.startswith(_DAMAGED):
        return IntegrityError(
            f"{place}: the server says that it is damaged ({_words(error)}); "
            "bring it back from a copy"
        )
    if lost or code.startswith(_LOST):
        return StorageError(f"{place}: {LOST}")
    if not code:
        text = str(error)
        for words, means in _REFUSED:
            if re.search(words, text, re.IGNORECASE):
                return StorageError(f"{place}: {means}")
    return StorageError(
        f"{place}: {_words(error)}; check that the database can be reached and try again"
    )


def _words(error: BaseException) -> str:
    """The server's own words in one line, without what stands around them."""
    said = str(error).strip().splitlines() or [type(error).__name__]
    return re.sub(r"^.*?(FATAL|ERROR):\s+", "", said[0])
