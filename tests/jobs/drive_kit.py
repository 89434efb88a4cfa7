"""Simulated drives as logs that jobs read."""

from __future__ import annotations

from asfound.demo.drives import Drive
from asfound.jobs.read_acceleration import AccelerationForm, AccelerationLog, open_acceleration
from asfound.jobs.tune_triggers import LogAsked


def csv_of(made: Drive) -> bytes:
    """The acceleration as CSV, seconds since 1970."""
    log = made.acceleration
    rows = (
        f"{at:.3f},{x:.4f},{y:.4f},{z:.4f}"
        for at, (x, y, z) in zip(log.times_s.tolist(), log.xyz_ms2.tolist(), strict=True)
    )
    return "\n".join(["time,x,y,z", *rows, ""]).encode()


def log_of(name: str, raw: bytes) -> AccelerationLog:
    """A log of these bytes."""
    return open_acceleration(name, lambda: [raw], AccelerationForm())


def asked(name: str, made: Drive, track: bool = True, labels: bool = True) -> LogAsked:
    """A drive with what is known of it."""
    return LogAsked(
        log_of(name, csv_of(made)), made.track if track else None, made.labels if labels else ()
    )
