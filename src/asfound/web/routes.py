"""Every page and every resource, in one place: to add one, write its module and name it here."""

from __future__ import annotations

from typing import Protocol

from fastapi import APIRouter

from asfound.web.api import bags as bag_resource
from asfound.web.api import bundles as bundle_resource
from asfound.web.api import deletions as deletion_resource
from asfound.web.api import doubts as doubt_resource
from asfound.web.api import drives as drive_resource
from asfound.web.api import (
    events,
    faults,
    fleet,
    problems,
    proof,
    reading,
    rollouts,
    session,
    sticks,
    tasks,
    uploads,
    vehicles,
    visits,
    work,
)
from asfound.web.api import firmware as firmware_resource
from asfound.web.api import holds as hold_resource
from asfound.web.api import place as place_resource
from asfound.web.api import requests as request_resource
from asfound.web.api import secrets as secret_resource
from asfound.web.pages import (
    bench,
    bench_check,
    bench_clock,
    bench_days,
    bench_drive,
    bench_drive_health,
    bench_fault,
    bench_leads,
    bench_lens,
    bench_power,
    bench_speed,
    bench_speed_pulses,
    bench_triggers,
    bundles,
    compare,
    cover,
    deletions,
    devices,
    doubts,
    drives,
    evidence,
    evidence_copy,
    firmware,
    history,
    holds,
    open_visit,
    place,
    read,
    rekey,
    report,
    requests,
    rollout,
    secrets,
    settings,
    stick,
    today,
    vehicle,
    visit,
)
from asfound.web.pages import proof as proof_page
from asfound.web.pages import vehicles as vehicle_list

PREFIX = "/api/v1"


class Routed(Protocol):
    """A module with a router."""

    @property
    def router(self) -> APIRouter:
        """Where its paths are registered."""
        ...


PAGES: tuple[Routed, ...] = (
    today, vehicle_list, vehicle, place, history, open_visit, holds, visit, read, doubts,
    deletions, requests, evidence_copy, evidence, drives, bundles,
    rekey, compare, proof_page, cover,
    secrets, report, devices, settings, firmware, rollout, stick,
    bench, bench_check, bench_days, bench_drive, bench_drive_health, bench_leads, bench_power,
    bench_lens, bench_clock, bench_speed, bench_speed_pulses, bench_triggers,
    bench_fault,
)  # fmt: skip
"""Pages, in the order in which their paths are looked at."""

RESOURCES: tuple[Routed, ...] = (
    session, fleet, vehicles, hold_resource, request_resource, deletion_resource, bag_resource,
    drive_resource, bundle_resource, place_resource, visits, work, faults, proof, uploads,
    reading, doubt_resource, secret_resource, tasks, events, problems,
    firmware_resource, rollouts, sticks,
)  # fmt: skip
"""Resources of the HTTP interface."""
