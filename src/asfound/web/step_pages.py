"""Pages that do the work of a step: shown as the large button on the step's card.

To add one: name the kinds of step it serves, the end of its address below the visit's, and its
words. Cards without one say what the command line does.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from asfound.model.procedure import GateKind, StepKind


@dataclass(frozen=True, slots=True)
class StepPage:
    """A page below a visit: ``/visits/<id>/<path>``; ``words`` is a text of the catalogue, marked
    there by ``N_``."""

    path: str
    words: str
    icon: str
    kinds: tuple[StepKind, ...]


def N_(text: str) -> str:  # noqa: N802 - the name that text extraction knows
    """Marks a text for the catalogue; it is translated where it is shown."""
    return text


STEP_PAGES: tuple[StepPage, ...] = (
    StepPage("read", N_("Photographs"), "camera", ("read-as-found", "read-as-left")),
    StepPage("doubts", N_("Settle doubts"), "doubt", ("settle",)),
    StepPage("rekey", N_("Re-key sheet"), "keys", ("rekey",)),
    StepPage("compare", N_("Compare"), "compare", ("read-as-left",)),
    StepPage("proof", N_("Proof"), "film", ("prove",)),
    StepPage("report", N_("Report"), "report", ("close",)),
)
"""Every such page, in the order of the job; the visit's tabs show all of them."""


GATE_PAGES: Mapping[GateKind, tuple[str, str, str]] = {
    "pages-read": ("read", "camera", N_("Photographs")),
    "doubts-settled": ("doubts", "doubt", N_("Settle doubts")),
    "as-left-compared": ("compare", "compare", N_("Compare")),
    "recording-proved": ("proof", "film", N_("Proof")),
    "secrets-hidden": ("secrets", "lock", N_("Paint passwords over")),
}
"""Where a shut gate is opened: the end of the page's address below the visit's, sign, words."""


def page_for(kind: StepKind) -> StepPage | None:
    """The first page that does the work of a kind of step; None when there is none. Further ones
    stand below it on the card."""
    return next((page for page in STEP_PAGES if kind in page.kinds), None)
