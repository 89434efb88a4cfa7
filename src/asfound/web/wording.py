"""Words of the pages for what the model names by an id."""

from __future__ import annotations

from collections.abc import Mapping

from asfound.model.procedure import GateKind
from asfound.web.step_pages import N_

GATES: Mapping[GateKind, str] = {
    "pages-read": N_("Every page photographed and read"),
    "doubts-settled": N_("Every doubt settled"),
    "no-hold": N_("No footage on hold"),
    "as-left-compared": N_("Settings as left compared, nothing open"),
    "recording-proved": N_("Recordings proved"),
    "secrets-hidden": N_("No stored photograph shows a password"),
    "firmware-chosen": N_("The right firmware chosen, and on the stick"),
    "rollout-allows": N_("It is this vehicle's turn for that firmware"),
    "steps-done": N_("Earlier steps done"),
}
"""Gates by what they demand."""

ENTRIES: Mapping[str, str] = {
    "opened": N_("opened the visit"),
    "as-found-read": N_("read photographs as found"),
    "settled": N_("settled a value"),
    "taken-back": N_("took a settled value back"),
    "step-done": N_("ticked a step off"),
    "noted": N_("wrote a note"),
    "firmware-chosen": N_("chose the firmware to put on"),
    "stick-checked": N_("checked the stick with the firmware"),
    "firmware-left": N_("said which firmware is installed"),
    "planned": N_("planned the re-key sheet"),
    "as-left-read": N_("read photographs as left"),
    "compared": N_("compared the settings as left"),
    "proved": N_("looked at recordings"),
    "coverage-taken": N_("counted the hours on disk"),
    "fault-found": N_("recorded what a fault came from"),
    "overridden": N_("overrode a gate"),
    "holds-changed": N_("changed what is on hold"),
    "secrets-hidden": N_("painted passwords over"),
    "originals-removed": N_("deleted originals"),
    "signed": N_("signed the visit"),
    "closed": N_("closed the visit"),
}
"""Journal entries by what somebody did."""

ROLES: Mapping[str, str] = {
    "technician": N_("who did the work"),
    "operator": N_("for the operator"),
    "witness": N_("witness"),
}
"""Roles of those who sign."""

STATES: Mapping[str, str] = {"sure": N_("sure"), "doubt": N_("in doubt"), "unread": N_("not read")}
"""States of a value read from photographs."""

VERDICTS: Mapping[str, str] = {
    "records": N_("records as promised"),
    "faults": N_("faults found"),
    "unclear": N_("could not be told"),
}
"""Verdicts of a proof."""
