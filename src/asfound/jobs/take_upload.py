"""Verbs: take a file from a phone piece by piece, and keep it by its hash before it is read.

The same file of the same visit is the same upload, whoever sends it and however often: nothing is
doubled. What a file is, is told by its content; a photograph becomes a blob when its last byte is
here, a clip stays beside until its frames were read, because nothing hides passwords in clips.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import PurePath
from typing import BinaryIO

from asfound.calc.media_kind import ENOUGH, media_kind
from asfound.calc.plain_text import plain
from asfound.errors import NotFound, UsageError
from asfound.jobs.take_recordings import check_recording
from asfound.jobs.visit_journal import Desk, load_visit, named
from asfound.jobs.visit_record import check_as_found, check_as_left
from asfound.model.upload import Upload
from asfound.ports.uploads import Uploads

PHOTO_BYTES = 100_000_000
"""The largest photograph taken; 50 megapixels of JPEG are about 25 MB."""

CLIP_BYTES = 1_000_000_000
"""The largest clip taken."""

MOST = 400
"""Files of one visit: a hundred pages four times over."""

STALE = timedelta(days=14)
"""After so long what broke off is forgotten, and that something was read is, too."""

PIECE = 1 << 20
"""Bytes that are made durable at once: what a break costs at most."""

_HASH = re.compile(r"[0-9a-f]{64}")
_NAME_LETTERS = 120


class WrongOffset(UsageError):
    """Bytes came for another place than where the file goes on; ``offset`` is that place."""

    def __init__(self, offset: int) -> None:
        super().__init__(f"{offset} bytes are here; go on from there")
        self.offset = offset


@dataclass(frozen=True, slots=True)
class Announce:
    """A file that is going to be sent: its size in bytes and its SHA-256, hex. ``recording``: a
    recording of the vehicle's own cameras, to be looked at, and no photograph of the menu."""

    visit: str
    as_left: bool
    name: str
    size: int
    sha256: str
    by: str
    recording: bool = False


def announce(request: Announce, *, desk: Desk, uploads: Uploads) -> tuple[Upload, bool]:
    """(the upload, True when it is new). One that is known goes on where it stands.

    Raises NotFound, GateShut and UsageError (photographs cannot be taken up now; no size or hash
    that can be), StorageError.
    """
    by = named(request.by)
    state = load_visit(request.visit, store=desk.store, blobs=desk.blobs)
    if state.closed:
        raise UsageError(f"visit {state.id} is closed and takes no more photographs")
    if request.recording:
        check_recording(state, request.name)
    else:
        (check_as_left if request.as_left else check_as_found)(state)
    if not _HASH.fullmatch(request.sha256):
        raise UsageError("sha256: 64 hexadecimal figures, small letters, are wanted")
    _check_size(request.size, CLIP_BYTES)
    uploads.tidy(desk.clock.now() - STALE)
    name = upload_id(request)
    known = uploads.find(state.id, name)
    if known is not None and known.size == request.size:
        if known.state != "failed" or known.kind == "recording":
            return known, False
        known = replace(known, state="waiting" if _is_here(known, desk) else "arriving", note="")
        uploads.save(known)
        return known, False
    if len(uploads.of(state.id)) >= MOST:
        raise UsageError(f"visit {state.id} has {MOST} uploads; read them, or use the command line")
    shown = plain(" ".join(PurePath(request.name.replace("\\", "/")).name.split()))[:_NAME_LETTERS]
    made = Upload(
        name, state.id, request.as_left, shown or "photograph", request.size, request.sha256, by,
        desk.clock.now(), "recording" if request.recording else "",
    )  # fmt: skip
    uploads.clear(made)
    uploads.save(made)
    return made, True


def upload_id(request: Announce) -> str:
    """The name of an upload: the same for the same content, visit and use (found, left, proof)."""
    which = "proof" if request.recording else "left" if request.as_left else "found"
    return hashlib.sha256(f"{request.visit}\0{which}\0{request.sha256}".encode()).hexdigest()[:32]


def known_upload(visit: str, name: str, uploads: Uploads) -> Upload:
    """An upload by its name. Raises NotFound."""
    found = uploads.find(visit, name)
    if found is None:
        raise NotFound(f"no upload {plain(name)!r} of visit {plain(visit)!r}; announce it first")
    return found


def offset_of(upload: Upload) -> int:
    """How many bytes need not be sent any more."""
    return upload.received if upload.state == "arriving" else upload.size


def take_piece(upload: Upload, offset: int, data: bytes, *, desk: Desk, uploads: Uploads) -> Upload:
    """Add bytes at ``offset``; with the last ones the file is checked and kept.

    Raises WrongOffset; UsageError when it is no picture, too large, or not what was announced:
    its bytes are deleted then, so that it can be sent again from the start; StorageError.
    """
    if offset != offset_of(upload):
        raise WrongOffset(offset_of(upload))
    if upload.state != "arriving":
        return upload
    if offset + len(data) > upload.size:
        raise UsageError(f"{upload.name}: more bytes came than the {upload.size} announced")
    now = uploads.append(upload, offset, data)
    if now is None:
        raise WrongOffset(offset_of(known_upload(upload.visit, upload.id, uploads)))
    upload = replace(upload, received=now)
    if not upload.kind and now >= min(ENOUGH, upload.size):
        upload = _told(upload, uploads)
    return _kept(upload, desk, uploads) if now == upload.size else upload


def _told(upload: Upload, uploads: Uploads) -> Upload:
    """The upload with its kind. Raises UsageError when it is none or too large for it."""
    with uploads.path(upload).open("rb") as stream:
        kind = media_kind(stream.read(ENOUGH))
    try:
        if kind is None:
            raise UsageError(f"{upload.name}: is neither a photograph nor a clip; leave it out")
        if kind == "photograph":
            _check_size(upload.size, PHOTO_BYTES)
    except UsageError:
        uploads.clear(upload)
        raise
    upload = replace(upload, kind=kind)
    uploads.save(upload)
    return upload


def _kept(upload: Upload, desk: Desk, uploads: Uploads) -> Upload:
    path = uploads.path(upload)
    with path.open("rb") as stream:
        digest = hashlib.file_digest(stream, "sha256").hexdigest()
    if digest != upload.sha256:
        uploads.clear(upload)
        raise UsageError(f"{upload.name}: arrived damaged; send it again from the start")
    if upload.kind == "photograph":
        desk.blobs.put_file(path)
    upload = replace(upload, state="kept" if upload.kind == "recording" else "waiting")
    uploads.save(upload)
    if upload.kind == "photograph":
        uploads.clear(upload)
    return upload


def _is_here(upload: Upload, desk: Desk) -> bool:
    whole = upload.received == upload.size
    return desk.blobs.has(upload.sha256) if upload.kind == "photograph" else whole


def _check_size(size: int, limit: int) -> None:
    if not 0 < size <= limit:
        raise UsageError(f"{size} bytes: 1 to {limit // 1_000_000} MB are taken; leave it out")


def take_file(request: Announce, stream: BinaryIO, *, desk: Desk, uploads: Uploads) -> Upload:
    """Take a file that is here as a whole; ``size`` and ``sha256`` of the request are worked out.
    Raises what ``announce`` and ``take_piece`` raise."""
    stream.seek(0)
    digest = hashlib.sha256()
    while data := stream.read(PIECE):
        digest.update(data)
    request = replace(request, size=stream.tell(), sha256=digest.hexdigest())
    upload, _ = announce(request, desk=desk, uploads=uploads)
    stream.seek(offset_of(upload))
    while upload.state == "arriving" and (data := stream.read(PIECE)):
        upload = take_piece(upload, offset_of(upload), data, desk=desk, uploads=uploads)
    return upload


def wait_again(visit: str, *, desk: Desk, uploads: Uploads) -> int:
    """Have what could not be read wait once more; how many. Raises StorageError."""
    failed = [item for item in uploads.of(visit) if item.state == "failed" and _is_here(item, desk)]
    for item in failed:
        uploads.save(replace(item, state="waiting", note=""))
    return len(failed)
