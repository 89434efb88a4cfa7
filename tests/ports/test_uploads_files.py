"""Uploads as folders: what is durable, what a card that cannot be read means, what is forgotten."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from tests.visit_kit import T0

from asfound.errors import NotFound, StorageError
from asfound.model.upload import Upload
from asfound.ports.backends.uploads_files import FileUploads

CARD = Upload("u1", "../../v", False, "../IMG.jpg", 10, "ab" * 32, "ada", T0)


def test_bytes_and_card_survive_a_new_process(tmp_path: Path) -> None:
    FileUploads(tmp_path / "up").save(CARD)
    first = FileUploads(tmp_path / "up")
    assert first.append(CARD, 0, b"hello") == 5
    after = FileUploads(tmp_path / "up")
    assert after.find(CARD.visit, CARD.id) == replace(CARD, received=5)
    assert after.append(CARD, 4, b"x") is None, "another offset adds nothing"
    assert after.append(CARD, 5, b"world") == 10
    assert after.path(CARD).read_bytes() == b"helloworld"
    assert after.path(CARD, ".mp4").name.endswith(".mp4")
    assert [path.name for path in tmp_path.iterdir()] == ["up"], "no name is part of a path"


def test_cleared_bytes_leave_the_card(tmp_path: Path) -> None:
    made = FileUploads(tmp_path)
    made.save(CARD)
    made.append(CARD, 0, b"hello")
    made.path(CARD, ".mp4")
    made.clear(CARD)
    assert made.find(CARD.visit, CARD.id) == CARD
    with pytest.raises(NotFound, match="send it again"):
        made.path(CARD)


def test_a_damaged_card_is_as_good_as_none(tmp_path: Path) -> None:
    made = FileUploads(tmp_path)
    made.save(CARD)
    (card,) = tmp_path.rglob("upload.json")
    card.write_bytes(b'{"id": 3')
    assert made.find(CARD.visit, CARD.id) is None
    assert made.of(CARD.visit) == []


def test_only_what_waits_is_never_forgotten(tmp_path: Path) -> None:
    made = FileUploads(tmp_path)
    for number, state in enumerate(("arriving", "waiting", "read", "failed")):
        card = replace(CARD, id=f"u{number}")
        made.save(replace(card, state="waiting") if state == "waiting" else card)
    assert made.waiting() == [CARD.visit]
    assert made.tidy(T0) == 0
    assert made.tidy(T0 + timedelta(seconds=1)) == 3
    assert [item.state for item in made.of(CARD.visit)] == ["waiting"]


def test_a_refusing_disk_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "up").write_bytes(b"a file in the way")
    with pytest.raises(StorageError, match="a file stands where a folder is needed"):
        FileUploads(tmp_path / "up").save(CARD)
