"""Calculations from logs that are sent: files are read as they come and nothing of them is kept."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from anyio.to_thread import run_sync
from fastapi import Request
from starlette.datastructures import UploadFile
from starlette.responses import Response

from asfound.errors import AsfoundError, UsageError
from asfound.jobs.ask_track import TrackAsk
from asfound.jobs.read_track import ReadTrack, read_track
from asfound.model.track_log import TrackLog
from asfound.web.context import FORM_FIELDS, Here, files_allowed
from asfound.web.problems import Problem, kind_of

Answer = TypeVar("Answer")
CHUNK = 1 << 20


@dataclass(frozen=True, slots=True)
class Sent:
    """What was sent: texts by the name of their field, and files."""

    fields: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, Sequence[UploadFile]] = field(default_factory=dict)

    def file(self, name: str, words: str) -> UploadFile:
        """The file of a field. Raises UsageError with ``words`` for what to choose."""
        found = self.files.get(name)
        if not found:
            raise UsageError(f"choose a file first: {words}")
        return found[0]


async def from_files(
    here: Here, request: Request, template: str, solve: Callable[[Sent], Answer]
) -> Response:
    """The page with what ``solve`` says of what was sent; texts stay in the form on errors."""
    return await with_files(request, lambda sent: _answered(here, template, solve, sent))


async def with_files(request: Request, use: Callable[[Sent], Response]) -> Response:
    """What ``use`` answers to what was sent; the files are gone afterwards."""
    form = await request.form(max_files=files_allowed(request), max_fields=FORM_FIELDS)
    try:
        files: dict[str, list[UploadFile]] = {}
        for name, item in form.multi_items():
            if isinstance(item, UploadFile) and item.filename:
                files.setdefault(name, []).append(item)
        texts = {name: item for name, item in form.items() if isinstance(item, str)}
        return await run_sync(use, Sent(texts, files))
    finally:
        await form.close()


def _answered(here: Here, template: str, solve: Callable[[Sent], Answer], sent: Sent) -> Response:
    answer: Answer | None = None
    error: AsfoundError | Problem | None = None
    try:
        answer = solve(sent)
    except (AsfoundError, Problem) as fault:
        error = fault
    status = kind_of(error).status if error is not None else 200
    return here.page(template, status, typed=sent.fields, answer=answer, error=error)


def chunks_of(file: UploadFile) -> Iterator[bytes]:
    """The bytes of a file that was sent."""
    while chunk := file.file.read(CHUNK):
        yield chunk


def track_of(here: Here, file: UploadFile, ask: TrackAsk) -> TrackLog:
    """The log in a file that was sent. Raises InputError, UsageError."""
    name = (file.filename or "log")[-80:]
    return read_track(ReadTrack(name, chunks_of(file), ask.form, ask.day, here.now().date()))
