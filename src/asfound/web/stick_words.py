"""Words, and a sign where there is one, for what firmware, rollouts and sticks name by an id."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from asfound.jobs.rollout_changes import Change, Effect
from asfound.model.rollout import Decision, Outcome
from asfound.model.stick import StickFault, StickVerdict
from asfound.web.step_pages import N_


@dataclass(frozen=True, slots=True)
class Said:
    """``tone``: "good", "warn", "bad", "now" or "quiet"; ``icon``: of the sprite; a text of the
    catalogue."""

    tone: str
    icon: str
    words: str


DECISIONS: Mapping[str, Said] = {
    Decision.GO_ON: Said("good", "check", N_("go on")),
    Decision.HOLD: Said("warn", "hold", N_("wait")),
    Decision.STOP: Said("bad", "stop", N_("stop")),
    Decision.COULD_NOT_TELL: Said("warn", "doubt", N_("could not be told")),
}

OUTCOMES: Mapping[str, Said] = {
    Outcome.PASSED: Said("good", "check", N_("passed")),
    Outcome.WAITING: Said("now", "now", N_("hold time or visit open")),
    Outcome.FAILED: Said("bad", "stop", N_("failed")),
    Outcome.COULD_NOT_TELL: Said("warn", "doubt", N_("could not be told")),
}

CHANGES: Mapping[str, str] = {
    Change.ADDED: N_("new"),
    Change.REMOVED: N_("gone"),
    Change.RENAMED: N_("renamed"),
    Change.DEFAULT: N_("other factory value"),
    Change.ALLOWED: N_("other values allowed"),
    Change.MOVED: N_("stands elsewhere"),
}

EFFECTS: Mapping[str, Said] = {
    Effect.LOST: Said("bad", "stop", N_("is lost: the setting is gone")),
    Effect.REFUSED: Said("bad", "stop", N_("is not taken any more")),
    Effect.KEY: Said("now", "keys", N_("has to be keyed in now")),
    Effect.KEPT: Said("good", "check", N_("need not be keyed in any more")),
    Effect.CARRIED: Said("good", "check", N_("goes along under the new name")),
    Effect.NOBODY: Said("warn", "doubt", N_("nothing is agreed: it keeps the factory value")),
}

VERDICTS: Mapping[str, Said] = {
    StickVerdict.PREPARED: Said(
        "good", "check", N_("Prepared: exactly this image, read back and the same")
    ),
    StickVerdict.BLOCKED: Said("bad", "stop", N_("Something is in the way; nothing was written")),
    StickVerdict.UNCHANGED: Said(
        "good", "check", N_("Unchanged: the image is the one that was put there")
    ),
    StickVerdict.CHANGED: Said("bad", "stop", N_("Changed: look before you use it again")),
    StickVerdict.COULD_NOT_TELL: Said(
        "warn", "doubt", N_("Could not tell: there is no slip to hold it against")
    ),
}

FAULTS: Mapping[str, str] = {
    StickFault.OTHER_IMAGE: N_("Another image that the recorder might take; move it away"),
    StickFault.NAME_CLASH: N_("A name that is in the way"),
    StickFault.FILE_SYSTEM: N_("A file system that few recorders read"),
    StickFault.CAPACITY: N_("Does not hold what it says"),
    StickFault.CAPACITY_UNSURE: N_("Whether it holds what it says could not be told"),
    StickFault.READ_BACK_UNSURE: N_(
        "What was read may come from the computer's memory: pull the stick, put it in, check again"
    ),
    StickFault.NO_SLIP: N_("No slip: never prepared, not to the end, or it was taken away"),
    StickFault.SLIP_DISAGREES: N_("The slip is for another image"),
    StickFault.IMAGE_MISSING: N_("The image is not there any more"),
    StickFault.IMAGE_CHANGED: N_("The image has other content now; use it on no vehicle"),
    StickFault.INTERRUPTED: N_("Left of a preparation that did not end; prepare the stick again"),
    StickFault.GONE: N_("Was there when the stick was prepared, and is gone"),
    StickFault.RESIZED: N_("Has another size or kind than when the stick was prepared"),
    StickFault.ALTERED: N_("Has other content than when the stick was prepared"),
    StickFault.UNKNOWN_IMAGE: N_("The catalogue does not know this image"),
    StickFault.LOOK_AT: N_("Look at this first"),
    StickFault.NOT_LISTED: N_("Too much was there to list it: what was added cannot be told"),
}
"""Each kind in the page's own words; what the job said stands below where it names figures."""

TELLING = (
    StickFault.NAME_CLASH,
    StickFault.FILE_SYSTEM,
    StickFault.CAPACITY,
    StickFault.CAPACITY_UNSURE,
    StickFault.SLIP_DISAGREES,
    StickFault.IMAGE_CHANGED,
    StickFault.RESIZED,
    StickFault.UNKNOWN_IMAGE,
    StickFault.LOOK_AT,
)
"""Kinds of which the job's own line says more."""
