"""The hardware revision of a recorder: by the fleet file, by the catalogue, or not known."""

from __future__ import annotations

from asfound.errors import UsageError
from asfound.model.firmware import Catalogue
from asfound.model.fleet import Recorder


def hardware_of(recorder: Recorder, catalogue: Catalogue | None, typed: str = "") -> str:
    """The revision, "" while nobody says it. ``typed``: as somebody read it off the label.

    Raises UsageError when two of them say different things: the label decides, not this.
    """
    fitted = dict(catalogue.hardware).get(recorder.serial, "") if catalogue else ""
    told = [one for one in (typed, recorder.hardware, fitted) if one]
    for one in told[1:]:
        if one != told[0]:
            raise UsageError(
                f"recorder {recorder.serial} is said to be hardware {told[0]} and hardware {one}; "
                "look at its label and correct fleet file or catalogue"
            )
    return told[0] if told else ""
