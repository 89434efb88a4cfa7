"""Storage that refuses, goes away, changes or holds odd names: never a silent guess.

Codes of Amazon S3's errors: its API reference, "Error responses", list of error codes.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest

from asfound.demo.footage import Camera, Drive, film
from asfound.errors import (
    AsfoundError,
    MissingPart,
    NotFound,
    RecordingError,
    StorageError,
)
from asfound.ports.backends import remote_store
from asfound.ports.backends.fingerprint import fingerprint
from asfound.ports.backends.remote_path import RemotePath, place
from asfound.ports.backends.remote_store import BLOCK_BYTES, Blocks, Facts, RangeReader, fault
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.backends.video_files import recordings

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)


class Shelf:
    """In place of a file system of fsspec's: what it holds, and what goes wrong."""

    def __init__(self, files: dict[str, bytes] | None = None) -> None:
        self.files = files or {}
        self.wrong: Callable[[str, int], None] = lambda path, start: None
        self.reads: list[tuple[int, int]] = []
        self.tag = '"one"'

    def info(self, path: str) -> dict[str, Any]:
        self.wrong(path, -1)
        if path in self.files:
            size = len(self.files[path])
            return {"name": path, "type": "file", "size": size, "ETag": self.tag}
        if any(name.startswith(f"{path}/") for name in self.files):
            return {"name": path, "type": "directory", "size": 0}
        raise FileNotFoundError(path)

    def ls(self, path: str, detail: bool) -> list[dict[str, Any]]:
        self.wrong(path, -1)
        found: dict[str, dict[str, Any]] = {}
        for name in self.files:
            if name.startswith(f"{path}/"):
                first, slash, _ = name.removeprefix(f"{path}/").partition("/")
                inside = f"{path}/{first}"
                kind = {"name": inside, "type": "directory", "size": 0}
                found[first + slash] = kind if slash else self.info(inside)
        return list(found.values())

    def cat_file(self, path: str, start: int, end: int) -> bytes:
        self.wrong(path, start)
        self.reads.append((start, end))
        return self.files[path][start:end]


@pytest.fixture
def shelf(monkeypatch: pytest.MonkeyPatch) -> Shelf:
    made = Shelf()
    monkeypatch.setattr(
        remote_store, "_system", lambda url: (made, url.partition("://")[2].rstrip("/"))
    )
    monkeypatch.setattr(remote_store, "_blocks", Blocks())
    return made


@pytest.fixture(scope="module")
def clip(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    camera = Camera(1, "ROAD", "road", 160, 96, 10)
    [path] = film(Drive(4, START, 3, (camera,)), tmp_path_factory.mktemp("clip"))
    return path.read_bytes()


class ClientError(Exception):
    """As botocore's: its answer as a mapping."""

    def __init__(self, code: str) -> None:
        super().__init__(f"hidden {code}")
        self.response = {"Error": {"Code": code, "Message": "hidden"}}


class NoCredentialsError(Exception):
    """As botocore's."""


def caused(error: Exception, cause: Exception) -> Exception:
    error.__cause__ = cause
    return error


@pytest.mark.parametrize(
    ("error", "kind", "words"),
    [
        (PermissionError("hidden"), RecordingError, "may not be read"),
        (caused(PermissionError("hidden"), ClientError("AccessDenied")), RecordingError, "may not"),
        (caused(PermissionError(), ClientError("InvalidObjectState")), RecordingError, "may not"),
        (caused(PermissionError(), ClientError("ExpiredToken")), StorageError, "who asks"),
        (caused(PermissionError(), ClientError("SignatureDoesNotMatch")), StorageError, "who asks"),
        (NoCredentialsError("hidden"), StorageError, "who asks"),
        (TimeoutError("hidden"), StorageError, "TimeoutError"),
        (OSError(5, "hidden"), StorageError, "no answer that can be used"),
        (ValueError("hidden"), StorageError, "no answer that can be used"),
        (ImportError("hidden", name="s3fs"), MissingPart, r"pip install 'asfound\[s3\]'"),
    ],
)
def test_errors_of_storage_are_one_line_without_its_words(
    error: Exception, kind: type[AsfoundError], words: str
) -> None:
    made = fault(error, "s3://bucket/x.mp4")
    assert type(made) is kind
    with pytest.raises(kind, match=words):
        raise made
    assert str(made).startswith("s3://bucket/x.mp4: ") and "\n" not in str(made)
    assert "hidden" not in str(made)


def test_a_part_that_is_not_installed_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(name: str) -> None:
        raise ImportError("no", name="fsspec")

    monkeypatch.setattr(remote_store, "_fsspec", lambda: missing("fsspec"))
    with pytest.raises(MissingPart, match=r"pip install 'asfound\[s3\]'"):
        remote_store.ask("gs://bucket/x")


def test_a_file_is_read_by_range_and_each_block_once(shelf: Shelf) -> None:
    data = bytes(5 * BLOCK_BYTES) + b"the end"
    shelf.files["bucket/x.mp4"] = data
    facts = Facts(False, len(data), 0.0, "t")
    for _ in range(2):
        reader = RangeReader("s3://bucket/x.mp4", facts)
        reader.seek(-7, io.SEEK_END)
        assert reader.read(100) == b"the end"
        reader.seek(10)
        assert reader.read(100) == bytes(100)
    assert shelf.reads == [(5 * BLOCK_BYTES, len(data)), (0, BLOCK_BYTES)]


def test_blocks_held_are_bounded_and_another_content_is_another_block(shelf: Shelf) -> None:
    shelf.files["bucket/x"] = bytes(4 * BLOCK_BYTES)
    blocks, facts = Blocks(2), Facts(False, 4 * BLOCK_BYTES, 0.0, "one")
    for number in (0, 1, 2, 2, 1, 0):
        blocks.get("s3://bucket/x", facts, number)
    assert len(shelf.reads) == 4
    blocks.get("s3://bucket/x", Facts(False, 4 * BLOCK_BYTES, 0.0, "two"), 0)
    assert len(shelf.reads) == 5


def away_after(limit: int) -> Callable[[str, int], None]:
    """Storage that goes away after so many reads."""
    count = 0

    def wrong(path: str, start: int) -> None:
        nonlocal count
        count += start >= 0
        if count > limit:
            raise TimeoutError("hidden")

    return wrong


@pytest.mark.parametrize("limit", [0, 1, 2, 4, 7])
def test_storage_that_goes_away_is_never_taken_for_damage(
    shelf: Shelf, clip: bytes, limit: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever the decoder makes of the part that it got."""
    monkeypatch.setattr(remote_store, "BLOCK_BYTES", 2048)
    assert len(clip) > 8 * 2048
    shelf.files["bucket/x.mp4"] = clip
    path = place("s3://bucket/x.mp4")
    for act in (
        lambda: AvVideo().facts(path),
        lambda: list(AvVideo().frames(path, 0)),
        lambda: [list(group.frames(0.0)) for group in AvVideo().groups(path, 0, 1.0)],
    ):
        remote_store._blocks = Blocks()
        shelf.wrong = away_after(limit)
        try:
            act()
        except StorageError as error:
            assert "no answer that can be used" in str(error)
        else:
            # The facts of this file lie in its first and last blocks.
            assert limit >= 2
        shelf.wrong = away_after(10**9)
        act()


def test_a_file_that_goes_or_is_locked_while_it_is_read_says_so(shelf: Shelf, clip: bytes) -> None:
    shelf.files["bucket/x.mp4"] = clip
    for error, kind, words in (
        (FileNotFoundError("x"), NotFound, "has gone"),
        (PermissionError("x"), RecordingError, "may not be read"),
    ):

        def wrong(path: str, start: int, error: Exception = error) -> None:
            if start >= 0:
                raise error

        shelf.wrong = wrong
        with pytest.raises(kind, match=words):
            AvVideo().facts(place("s3://bucket/x.mp4"))
        with pytest.raises(kind, match=words), place("s3://bucket/x.mp4").open("rb") as file:
            file.read()


def test_a_folder_without_a_name_is_never_passed_over_in_silence(shelf: Shelf) -> None:
    # "a//b" is a key like any other (Amazon S3 user guide, "Naming Amazon S3 objects").
    shelf.files.update({"bucket/a//ch1.mp4": b"x", "bucket/a/ch2.mp4": b"x", "bucket/a/": b""})
    lost, found = recordings(place("s3://bucket/a"))
    assert str(found) == "s3://bucket/a/ch2.mp4"
    with pytest.raises(RecordingError, match="a folder without a name"):
        AvVideo().facts(lost)


def test_a_tag_tells_content_and_nothing_is_read(shelf: Shelf) -> None:
    shelf.files["bucket/d/x.mp4"] = b"x" * 9
    [path] = recordings(place("s3://bucket/d"))
    first = fingerprint(path)
    assert first == fingerprint(path) and '"one"' in first and not shelf.reads
    shelf.tag = '"two"'
    assert fingerprint(path) not in ("", first)
    whole = fingerprint(path, whole=True)
    shelf.tag = '"three"'
    assert fingerprint(path, whole=True) == whole and shelf.reads
    # RFC 9110, section 8.8.1: a weak tag may stay while bytes change. Nor is there a time.
    shelf.tag = 'W/"one"'
    assert fingerprint(place("s3://bucket/d/x.mp4")) == ""
    del shelf.files["bucket/d/x.mp4"]
    assert fingerprint(place("s3://bucket/d/x.mp4")) == ""


def test_what_a_listing_said_serves_once(shelf: Shelf) -> None:
    """So that a second look at the tag sees what happened meanwhile."""
    shelf.files["bucket/d/x.mp4"] = b"x" * 9
    [path] = recordings(place("s3://bucket/d"))
    assert isinstance(path, RemotePath)
    first = path.facts_now()
    shelf.tag = '"two"'
    assert path.facts_now() != first
    assert path.facts() == first
