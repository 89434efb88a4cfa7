"""Work that goes on behind a page: how far it is, and the way to stop it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from pydantic import BaseModel

from asfound.web.context import Asked
from asfound.web.events import task_data

router = APIRouter(prefix="/tasks", tags=["tasks"])


class TaskOut(BaseModel):
    """A task: ``state`` is running, done, failed or stopped; ``done`` of ``total`` pieces."""

    id: str
    kind: str
    subject: str
    title: str
    state: str
    done: int
    total: int
    what: str
    message: str
    stopping: bool


@router.get("")
def tasks(here: Asked, subject: Annotated[str, Query(max_length=120)]) -> list[TaskOut]:
    """Tasks about a subject (a visit's id), the one that changed last at the end."""
    return [TaskOut(**task_data(task)) for task in here.server.tasks.of(subject)]


@router.get("/{task}")
def one(here: Asked, task: str) -> TaskOut:
    """A task."""
    return TaskOut(**task_data(here.server.tasks.get(task)))


@router.post("/{task}/stop")
def stop(here: Asked, task: str) -> TaskOut:
    """Ask a task to stop; it does after the piece at hand."""
    return TaskOut(**task_data(here.server.tasks.stop(task)))
