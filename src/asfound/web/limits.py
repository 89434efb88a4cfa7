"""How much a request may send, by address."""

from __future__ import annotations

import re

USUAL = 256 * 1024
"""Bytes of a form or JSON document: far more than anybody types."""

FILES = 1_001_000_000
"""Bytes of a request that brings photographs or clips; each file has its own limit besides."""

PHOTO = 101_000_000
"""Bytes of a request that brings one photograph."""

REPORTS = 20_000_000
"""Bytes of a request that brings reports of drives: each has some 30 kB, at most 4 MB."""

LOG = 65_000_000
"""Bytes of a request that brings an ignition log: a year of one has about 15 MB."""

DRIVES = 130_000_000
"""Bytes of a request that brings logs of driving: two days and nights of six sentences of NMEA a
second have as much; longer ones are for the command line."""

LARGER: tuple[tuple[re.Pattern[str], int], ...] = (
    (re.compile(r"/api/v1/visits/[^/]+/uploads/[^/]+"), FILES),
    (re.compile(r"/visits/[^/]+/read"), FILES),
    (re.compile(r"/visits/[^/]+/proof/send"), FILES),
    (re.compile(r"/visits/[^/]+/proof/cover|/api/v1/visits/[^/]+/coverage"), LOG),
    (re.compile(r"/requests/[^/]+/log"), LOG),
    (re.compile(r"/bench/drive/health|/drives/[^/]+/judged"), REPORTS),
    (re.compile(r"/bench/speed(/pulses)?|/bench/clock/match|/bench/triggers(/try)?"), DRIVES),
    (re.compile(r"(/api/v1)?/vehicles/[^/]+/place"), PHOTO),
)
"""Addresses that take files, and how many bytes each takes; the first that fits counts."""


def body_limit(path: str) -> int:
    """The most bytes that a request to ``path`` may send."""
    return next((limit for pattern, limit in LARGER if pattern.fullmatch(path)), USUAL)
