"""The two gates of a firmware step: the right image, on a checked stick, and at its turn.

Where a fleet keeps no catalogue and no rollouts, both hold and say so. What was there when the
visit was opened and is not here now, or cannot be read, keeps them shut.
"""

from __future__ import annotations

from asfound.model.firmware_choice import UNREADABLE, ChosenStep, Turn
from asfound.model.stick import StickVerdict
from asfound.model.visit import Override, VisitState

NO_CATALOGUE = "no firmware catalogue here: nothing was checked"
NO_ROLLOUT = "no rollout of this recorder model here"


def choice_shut(state: VisitState) -> str | None:
    """Why ``firmware-chosen`` is shut, in one line; None when it holds."""
    rules, choice = state.rules, state.choice
    if rules.catalogue_fault:
        return f"the firmware catalogue cannot be read: {rules.catalogue_fault}"
    if not rules.catalogue:
        if state.under.catalogue or (choice is not None and choice.catalogue):
            return "this visit began with a firmware catalogue, and there is none here"
        return None
    if choice is None:
        return (
            "which firmware is to be put on was not chosen; "
            f"asfound visit firmware {state.id} --by NAME"
        )
    if choice.refused:
        return f"the catalogue refuses {choice.to}: {choice.refused}"
    if not choice.catalogue:
        return "the firmware was chosen without the catalogue"
    if choice.installed != state.firmware_left:
        return f"chosen over {choice.installed}, but {state.firmware_left} is installed"
    if rules.choice_fault:
        return f"the choice of {choice.to} does not stand any more: {rules.choice_fault}"
    return _stick_shut(state)


def _stick_shut(state: VisitState) -> str | None:
    choice, stick = state.choice, state.stick
    if choice is None or not choice.path:
        return None
    if stick is None:
        return (
            f"the stick was not checked; asfound visit firmware {state.id} --stick MOUNT --by NAME"
        )
    hashes = [step.sha256 for step in choice.path]
    if stick.sha256 not in hashes:
        return "the stick does not hold the chosen image"
    if stick.verdict != StickVerdict.UNCHANGED:
        why = stick.notes[0] if stick.notes else stick.verdict
        return f"the stick is not as it was prepared: {why}"
    # A later image of the way must not go over the version that is on: its stick comes second.
    unseen = _unseen(state, hashes.index(stick.sha256))
    if unseen is None:
        return None
    return f"{unseen.version} comes first, and no stick with {unseen.file} was checked"


def _unseen(state: VisitState, last: int) -> ChosenStep | None:
    """The first image of the way, up to the one at place ``last``, of which no whole stick was
    checked."""
    way = state.choice.path[: last + 1] if state.choice else ()
    return next((step for step in way if step.sha256 not in state.images_seen), None)


def choice_note(state: VisitState) -> str:
    """Why ``firmware-chosen`` holds where nothing was checked; else ""."""
    return "" if state.rules.catalogue else NO_CATALOGUE


def rollout_shut(state: VisitState) -> str | None:
    """Why ``rollout-allows`` is shut, in one line; None when it holds."""
    rules = state.rules
    if rules.rollout_fault:
        return f"the rollouts cannot be told: {rules.rollout_fault}"
    gone = [name for name in state.under.rollouts if name not in (*rules.rollouts, UNREADABLE)]
    if gone:
        return f"rollout {gone[0]} was there when the visit began, and is not here"
    if not rules.rollouts:
        if UNREADABLE in state.under.rollouts:
            return "unreadable rollouts were there when the visit began, and none is here"
        return None
    if state.choice is None:
        return "which version is to be put on was not said"
    worst = max(rules.turns, key=lambda one: one.turn.gravity, default=None)
    if worst is None or worst.turn is Turn.OPEN:
        return None
    return f"rollout {worst.rollout} does not allow {worst.target}: {worst.why}"


def rollout_note(state: VisitState) -> str:
    """Why ``rollout-allows`` holds where no rollout has a say; else ""."""
    return "" if state.rules.rollouts else NO_ROLLOUT


def version_shut(state: VisitState, firmware: str) -> str | None:
    """Why ``firmware`` cannot be what a firmware step left, in one line; None when it can.

    Another version than the chosen one was never asked about: it is chosen first, so that
    catalogue and rollouts are asked, and the override stands in the journal where they refuse.
    """
    choice = state.choice
    if not (state.rules.catalogue or state.rules.rollouts) or choice is None:
        return None
    if firmware == state.firmware_found:
        return None
    if firmware in choice.versions:
        unseen = _unseen(state, choice.versions.index(firmware))
        if unseen is None:
            return None
        return (
            f"no stick with {unseen.file} ({unseen.version}) was checked; "
            f"asfound visit firmware {state.id} --stick MOUNT --by NAME"
        )
    return (
        f"{choice.to} was chosen, and the recorder shows {firmware}; choose what it shows: "
        f"asfound visit firmware {state.id} --to {firmware} --by NAME"
    )


def turn_now(state: VisitState) -> Turn:
    """The gravest thing that the rollouts say of the choice."""
    if state.rules.rollout_fault:
        return Turn.UNTOLD
    turns = [one.turn for one in state.rules.turns]
    return max(turns, key=lambda one: one.gravity, default=Turn.OPEN)


def still_covers(state: VisitState, item: Override) -> bool:
    """Whether an override of ``rollout-allows`` covers what the rollouts say now: it does not
    cover anything graver than what was known when it was given."""
    known = Turn(item.turn).gravity if item.turn in set(Turn) else 0
    return turn_now(state).gravity <= known or turn_now(state) is Turn.OPEN
