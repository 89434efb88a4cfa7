"""Settings of a vehicle against every sum that applies."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.responses import Response

from asfound.jobs.ask_check import ask_facts
from asfound.jobs.asked import needed
from asfound.jobs.check_settings import CheckSettings, check_settings, facts_of
from asfound.model.sums import Facts, SettingsChecked
from asfound.web.bench import reckon
from asfound.web.context import Asked
from asfound.web.vehicle_known import KnownSettings, known_settings

router = APIRouter()


@dataclass(frozen=True, slots=True)
class CheckAnswer:
    """Whose settings were checked, against what, and what came out."""

    known: KnownSettings
    facts: Facts
    checked: SettingsChecked

    def labels(self, names: tuple[str, ...]) -> list[str]:
        """What the menu calls the settings, each once."""
        field = self.known.menu_map.field
        return list(dict.fromkeys(field(name).label for name in names))


@router.get("/bench/check")
def show(here: Asked) -> Response:
    """The form, and the sums when it was sent."""

    def solve(fields: Mapping[str, str]) -> CheckAnswer:
        known = known_settings(needed(fields, "vehicle", "217"), here.services)
        facts = ask_facts(fields, facts_of(known.fleet, known.vehicle, here.now().year))
        request = CheckSettings(known.menu_map, known.firmware, known.values, facts)
        return CheckAnswer(known, facts, check_settings(request))

    return reckon(here, "bench-check.html.j2", solve)
