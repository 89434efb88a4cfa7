"""Words of a proof on pages: verdicts, kinds of finding, months on the strip."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from asfound.jobs.footage_strip import StripWords
from asfound.model.coverage import CoverageVerdict
from asfound.model.finding import Kind, ProofVerdict
from asfound.web.step_pages import N_

FINDINGS: Mapping[Kind, str] = {
    Kind.BLACK: N_("black picture"),
    Kind.NO_SIGNAL: N_("no camera signal"),
    Kind.FROZEN: N_("picture stands still"),
    Kind.BLURRED: N_("picture out of focus"),
    Kind.COVERED: N_("lens covered"),
    Kind.OVEREXPOSED: N_("picture too bright"),
    Kind.UNDEREXPOSED: N_("picture too dark"),
    Kind.NOISY: N_("noisy picture"),
    Kind.ROLLING: N_("picture rolls"),
    Kind.MOVED: N_("camera aimed elsewhere"),
    Kind.GAP: N_("nothing recorded"),
    Kind.TIME_JUMP: N_("clock jumps"),
    Kind.CLOCK_OFFSET: N_("clock off"),
    Kind.CLOCK_JUMP: N_("stamped years from the others"),
    Kind.WRONG_SIZE: N_("wrong picture size"),
    Kind.WRONG_RATE: N_("wrong picture rate"),
    Kind.WRONG_BITRATE: N_("wrong bit rate"),
    Kind.WRONG_CODEC: N_("wrong codec"),
    Kind.WRONG_KEY_INTERVAL: N_("wrong key interval"),
    Kind.WRONG_EXTENSION: N_("name says another kind of file"),
    Kind.NO_AUDIO: N_("no sound"),
    Kind.SILENT_AUDIO: N_("silent sound"),
    Kind.UNWANTED_AUDIO: N_("sound that was not agreed"),
    Kind.DAMAGED: N_("damaged recording"),
    Kind.EMPTY: N_("empty recording"),
}
"""Findings by what a person would call them."""

SENTENCES: Mapping[ProofVerdict, str] = {
    ProofVerdict.RECORDS: N_("Every channel records as it should."),
    ProofVerdict.FAULTS: N_("There are faults."),
    ProofVerdict.UNCLEAR: N_("Not everything could be judged: somebody has to look."),
}

COVERAGE: Mapping[CoverageVerdict, str] = {
    CoverageVerdict.COMPLETE: N_("every hour that was expected is on disk"),
    CoverageVerdict.MISSING: N_("hours that were expected are not on disk"),
    CoverageVerdict.UNCLEAR: N_("not everything could be judged"),
}

UNITS = (
    N_("% of the width"), N_("px of a picture 320 wide"), N_("degrees"), N_("code values"),
    N_("streams"), N_("pictures"),
)  # fmt: skip
"""Units of findings that are words; signs of units are the same in every language."""

DAYS: Mapping[str, str] = {
    "mon": N_("Mo"), "tue": N_("Tu"), "wed": N_("We"), "thu": N_("Th"), "fri": N_("Fr"),
    "sat": N_("Sa"), "sun": N_("Su"),
}  # fmt: skip
"""Days of the week, short."""

MONTHS = (
    N_("Jan"), N_("Feb"), N_("Mar"), N_("Apr"), N_("May"), N_("Jun"),
    N_("Jul"), N_("Aug"), N_("Sep"), N_("Oct"), N_("Nov"), N_("Dec"),
)  # fmt: skip


def strip_words(said: Callable[[str], str]) -> StripWords:
    """The strip's words in the language of ``said``."""
    return StripWords(
        {kind: said(words) for kind, words in FINDINGS.items()},
        [said(month) for month in MONTHS],
        "–",
    )


UNTIMED = N_("Start not known: each file from its own beginning")
"""What the strip says above recordings without a start, as it is drawn in files."""
