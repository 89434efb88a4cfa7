"""Photographs and clips, sent so that any break can be resumed.

``HEAD`` and ``PATCH`` are those of the open protocol tus 1.0.0 (https://tus.io, core protocol):
Upload-Offset, Upload-Length, and pieces as application/offset+octet-stream. An upload is begun by
announcing it in JSON with its SHA-256: the same file is the same upload, however often it comes.
"""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from anyio.to_thread import run_sync
from fastapi import APIRouter, Header, Request
from pydantic import BaseModel, Field
from starlette.requests import ClientDisconnect
from starlette.responses import Response

from asfound.errors import NotFound
from asfound.jobs.take_upload import (
    PIECE,
    Announce,
    WrongOffset,
    announce,
    known_upload,
    offset_of,
    take_piece,
)
from asfound.model.upload import Upload
from asfound.web.context import Asked, Here
from asfound.web.problems import OFFSET, Problem

router = APIRouter(prefix="/visits/{visit}/uploads", tags=["uploads"])

VERSION = "1.0.0"
PIECE_TYPE = "application/offset+octet-stream"
_PIECE_BODY = {
    "requestBody": {
        "required": True,
        "content": {PIECE_TYPE: {"schema": {"type": "string", "format": "binary"}}},
    }
}


class WrongPlace(Problem):
    """A piece came for another offset; the problem's ``offset`` says where the file goes on."""

    kind = OFFSET

    def __init__(self, error: WrongOffset) -> None:
        super().__init__(409, str(error), {"offset": error.offset})


class UploadIn(BaseModel):
    """A file that is going to be sent; ``size`` in bytes, ``sha256`` hex."""

    name: Annotated[str, Field(max_length=255)]
    size: Annotated[int, Field(ge=1)]
    sha256: Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
    by: Annotated[str, Field(max_length=80)]
    as_left: bool = False
    recording: bool = False


class UploadOut(BaseModel):
    """A file as it stands: ``offset`` of ``size`` bytes are here. ``state`` is arriving, waiting
    (to be read), read, failed (``note`` says why) or kept (a recording)."""

    id: str
    name: str
    size: int
    sha256: str
    as_left: bool
    by: str
    at: datetime
    kind: str
    state: str
    note: str
    offset: int

    @classmethod
    def of(cls, upload: Upload) -> UploadOut:
        """From the model's upload."""
        return cls(
            id=upload.id,
            name=upload.name,
            size=upload.size,
            sha256=upload.sha256,
            as_left=upload.as_left,
            by=upload.by,
            at=upload.at,
            kind=upload.kind,
            state=upload.state,
            note=upload.note,
            offset=offset_of(upload),
        )


@router.get("")
def uploads(here: Asked, visit: str) -> list[UploadOut]:
    """Files of the visit that are on their way, wait or were read, oldest first."""
    if visit not in here.services.desk.store.heads([visit]):
        raise NotFound(f"no visit {visit!r}; the first page shows them")
    return [UploadOut.of(item) for item in here.services.uploads.of(visit)]


@router.post("", status_code=201)
def begin(here: Asked, visit: str, wanted: UploadIn, answer: Response) -> UploadOut:
    """Announce a file: 201 when it is new, 200 when it is known; go on at its ``offset``."""
    request = Announce(
        visit, wanted.as_left, wanted.name, wanted.size, wanted.sha256, wanted.by, wanted.recording
    )
    made, fresh = announce(request, desk=here.services.desk, uploads=here.services.uploads)
    answer.status_code = 201 if fresh else 200
    answer.headers["Location"] = f"/api/v1/visits/{visit}/uploads/{made.id}"
    answer.headers.update(_headers(made))
    here.server.reader.kick(visit)
    return UploadOut.of(made)


@router.get("/{upload}")
def one(here: Asked, visit: str, upload: str) -> UploadOut:
    """One file."""
    return UploadOut.of(known_upload(visit, upload, here.services.uploads))


@router.head("/{upload}", response_class=Response)
def offset(here: Asked, visit: str, upload: str) -> Response:
    """Where the file goes on, in Upload-Offset."""
    found = known_upload(visit, upload, here.services.uploads)
    return Response(headers=_headers(found))


@router.patch("/{upload}", status_code=204, response_class=Response, openapi_extra=_PIECE_BODY)
async def piece(
    here: Asked,
    request: Request,
    visit: str,
    upload: str,
    upload_offset: Annotated[int, Header(ge=0)],
) -> Response:
    """Add bytes at Upload-Offset; 409 with the right ``offset`` when the file goes on elsewhere.
    A last piece that makes no photograph of it is 422, and the file begins anew."""
    if request.headers.get("content-type", "") != PIECE_TYPE:
        raise Problem(400, f"send the bytes as {PIECE_TYPE}")
    found = await run_sync(known_upload, visit, upload, here.services.uploads)
    try:
        found = await _taken(here, request, found, upload_offset)
    except WrongOffset as error:
        raise WrongPlace(error) from None
    if found.state == "waiting":
        await run_sync(here.server.reader.kick, visit)
    return Response(status_code=204, headers=_headers(found))


async def _taken(here: Here, request: Request, found: Upload, offset: int) -> Upload:
    """The upload after what the request brought; what came before a break is kept."""

    def keep(upload: Upload, at: int, data: bytes) -> Upload:
        return take_piece(upload, at, data, desk=here.services.desk, uploads=here.services.uploads)

    held = bytearray()
    try:
        async for part in request.stream():
            held += part
            if len(held) >= PIECE:
                data = bytes(held)
                found, offset = await run_sync(keep, found, offset, data), offset + len(data)
                held.clear()
    except ClientDisconnect:
        # Wi-Fi is gone: nobody hears the answer, but what came is not sent again.
        pass
    return await run_sync(keep, found, offset, bytes(held))


def _headers(upload: Upload) -> dict[str, str]:
    return {
        "Tus-Resumable": VERSION,
        "Upload-Offset": str(offset_of(upload)),
        "Upload-Length": str(upload.size),
    }
