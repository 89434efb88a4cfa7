"""Which image belongs on a stick, by the catalogue; and what it knows of one given by hand."""

from __future__ import annotations

from asfound.errors import UsageError
from asfound.jobs.choose_firmware import ChooseFirmware, choose_firmware
from asfound.model.firmware import Answer, Catalogue, FirmwareChosen


def image_for(request: ChooseFirmware) -> FirmwareChosen:
    """The way whose first step belongs on the stick now. Raises UsageError when nothing is to be
    put on, or nothing may be, saying why; NotFound."""
    chosen = choose_firmware(request)
    if chosen.answer is Answer.GO:
        return chosen
    if chosen.answer is Answer.STAY:
        raise UsageError(
            f"{request.installed} is the right version and installed: no stick is needed; another "
            "one goes with --to VERSION"
        )
    asked = [one.note for one in chosen.rejected if one.image.version == request.to]
    why = [*asked, *chosen.findings][0]
    raise UsageError(f"no image may be put on: {why}; asfound firmware choose tells every reason")


def known_image(catalogue: Catalogue, sha256: str, map_id: str) -> str:
    """What the catalogue says of an image given by hand, by its content; "": it is not known.

    ``map_id``: the recorder that it is for ("": not said). Raises UsageError for an image that
    was withdrawn or is another recorder's.
    """
    same = [image for image in catalogue.images if image.sha256 == sha256]
    if not same:
        return ""
    gone = next((one.withdrawn for one in same if one.withdrawn), None)
    names = ", ".join(f"{one.map_id} {one.version}" for one in same)
    if gone is not None:
        raise UsageError(
            f"this image is {names}, withdrawn on {gone.on}: {gone.why}; take another one"
        )
    if map_id and all(one.map_id != map_id for one in same):
        raise UsageError(f"this image is {names}, not one of {map_id}; take another one")
    made = ", ".join(dict.fromkeys(name for one in same for name in one.hardware))
    approved = "approved" if any(one.approved for one in same) else "approved for nobody"
    return f"{names}, hardware {made}, {approved}"
