"""Sign a visit: a name, a role, and a picture of the signature, for the journal as it stands."""

from __future__ import annotations

from dataclasses import dataclass

from asfound.calc.crop import shrink
from asfound.calc.signature import ink_cut_out
from asfound.errors import UsageError
from asfound.jobs.visit_journal import Book, Desk, named
from asfound.model.visit import SIGNER_ROLES, VisitState
from asfound.ports.pictures import Pictures

LONGEST_PX = 1000
"""Longer side of a kept signature: 420 dots per inch at the 60 mm it is printed in."""

QUALITY = 90
MAX_BYTES = 8_000_000
"""A photograph of a signed sheet is smaller; a canvas's picture is a hundredth of it."""


@dataclass(frozen=True, slots=True)
class SignVisit:
    """Sign with a name; ``picture`` is a picture file's bytes, None when the name alone signs."""

    visit: str
    name: str
    role: str = SIGNER_ROLES[0]
    picture: bytes | None = None


def sign_visit(request: SignVisit, *, desk: Desk, pictures: Pictures) -> VisitState:
    """Store the picture, then the entry that names it. A closed visit may be signed, too.

    What is signed is the journal up to and with the entry before, whose hash the new one carries.
    Raises UsageError (no name, no such role, a blank or too large picture), PictureError,
    NotFound, StorageError.
    """
    name = named(request.name)
    if request.role not in SIGNER_ROLES:
        raise UsageError(f"role {request.role!r}: choose one of {', '.join(SIGNER_ROLES)}")
    made = cleaned(request.picture, pictures) if request.picture is not None else None
    book = Book(request.visit, desk, closed_too=True)
    data: dict[str, object] = {"role": request.role, "head": book.state.head}
    if made is not None:
        data["picture"] = desk.blobs.put(made)
    return book.write(name, "signed", data)


def cleaned(data: bytes, pictures: Pictures) -> bytes:
    """The signature alone as a JPEG, encoded anew: nothing else of the file is kept. Raises
    UsageError (blank, too large), PictureError."""
    if len(data) > MAX_BYTES:
        raise UsageError(
            f"the signature's picture has {len(data)} bytes; at most {MAX_BYTES} are taken"
        )
    pixels = pictures.decode(data, "the signature's picture", longest=2 * LONGEST_PX).pixels
    signed = ink_cut_out(pixels)
    if signed is None:
        raise UsageError("the signature is blank; sign with dark ink on light paper")
    return pictures.encode_jpeg(shrink(signed, LONGEST_PX), QUALITY)
