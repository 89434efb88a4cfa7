"""Blobs: named by SHA-256, durable, checked, and every refusal of the disk is one line."""

from __future__ import annotations

import errno
import hashlib
import os
import resource
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.errors import IntegrityError, NotFound, StorageError
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.disk import storage_error

# FIPS 180-4 examples (NIST, "Examples with intermediate values", SHA-256).
VECTORS = [
    (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    (
        b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ),
    (b"a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
]


@pytest.mark.parametrize(("data", "name"), VECTORS)
def test_names_are_sha_256(tmp_path: Path, data: bytes, name: str) -> None:
    blobs = FileBlobs(tmp_path / "blobs")
    source = tmp_path / "source"
    source.write_bytes(data)
    assert blobs.put(data) == blobs.put_file(source) == name
    assert blobs.get(name) == data
    assert blobs.path(name) == tmp_path / "blobs" / name[:2] / name[2:]
    assert list((tmp_path / "blobs" / "tmp").iterdir()) == []


@given(data=st.binary(max_size=200))
@settings(max_examples=25, deadline=None)
def test_what_goes_in_comes_out(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    blobs = FileBlobs(tmp_path_factory.mktemp("blobs"))
    assert blobs.get(blobs.put(data)) == data


def test_a_large_file_comes_in_by_pieces(tmp_path: Path) -> None:
    source = tmp_path / "clip"
    source.write_bytes(os.urandom(1 << 16) * 50)  # 3.2 MiB: several pieces and a rest
    name = FileBlobs(tmp_path / "b").put_file(source)
    assert name == hashlib.sha256(source.read_bytes()).hexdigest()


def test_an_altered_blob_is_told_and_mended_by_storing_it_again(tmp_path: Path) -> None:
    blobs = FileBlobs(tmp_path)
    name = blobs.put(b"photograph")
    blobs.path(name).write_bytes(b"photogra")
    with pytest.raises(IntegrityError, match="not the bytes that were stored"):
        blobs.get(name)
    assert blobs.put(b"photograph") == name
    assert blobs.get(name) == b"photograph"


@pytest.mark.parametrize("name", ["", "../etc/passwd", "A" * 64, "0" * 63, "0" * 64, "ab/" * 21])
def test_unknown_and_impossible_names_are_not_found(tmp_path: Path, name: str) -> None:
    blobs = FileBlobs(tmp_path)
    assert not blobs.has(name)
    with pytest.raises(NotFound):
        blobs.get(name)


def test_a_missing_source_and_a_folder_are_not_found(tmp_path: Path) -> None:
    blobs = FileBlobs(tmp_path / "b")
    with pytest.raises(NotFound, match="no such file"):
        blobs.put_file(tmp_path / "none.jpg")
    with pytest.raises(NotFound, match="is a folder"):
        blobs.put_file(tmp_path)
    assert list((tmp_path / "b" / "tmp").iterdir()) == []


def test_a_file_in_place_of_the_folder_is_a_storage_error(tmp_path: Path) -> None:
    (tmp_path / "b").write_text("")
    with pytest.raises(StorageError, match="a file stands where a folder is needed"):
        FileBlobs(tmp_path / "b").put(b"x")


def test_left_over_temporary_files_are_swept_after_a_day(tmp_path: Path) -> None:
    waiting = tmp_path / "tmp"
    waiting.mkdir()
    old, young = waiting / "old", waiting / "young"
    old.touch()
    young.touch()
    os.utime(old, (time.time() - 90_000,) * 2)
    FileBlobs(tmp_path).put(b"x")
    assert [path.name for path in waiting.iterdir()] == ["young"]


@pytest.mark.parametrize("code", [*range(1, 134), 0])
def test_every_disk_error_becomes_one_line_with_the_place(code: int, tmp_path: Path) -> None:
    error = storage_error(OSError(code, os.strerror(code)) if code else OSError(), tmp_path)
    assert isinstance(error, StorageError)
    assert str(error).startswith(f"{tmp_path}: ")
    assert "\n" not in str(error) and ";" in str(error)


def test_a_full_disk_says_so() -> None:
    text = str(storage_error(OSError(errno.ENOSPC, "x"), Path("/media/stick")))
    assert text.startswith("/media/stick: the disk is full")


PUT_UNDER_LIMIT = textwrap.dedent(
    """
    import resource, signal, sys
    from pathlib import Path
    from asfound.errors import StorageError
    from asfound.ports.backends.blobs_files import FileBlobs

    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
    blobs = FileBlobs(Path(sys.argv[1]))
    kept = blobs.put(b"small")
    try:
        blobs.put(b"x" * 200_000)
    except StorageError as error:
        print(error)
    assert blobs.get(kept) == b"small"
    print([path.name for path in (Path(sys.argv[1]) / "tmp").iterdir()])
    """
)


def test_a_file_that_may_not_grow_leaves_everything_before_it(tmp_path: Path) -> None:
    # The kernel itself refuses the write (RLIMIT_FSIZE, EFBIG), half way through the blob.
    assert hasattr(resource, "RLIMIT_FSIZE") and hasattr(signal, "SIGXFSZ")
    done = subprocess.run(
        [sys.executable, "-c", PUT_UNDER_LIMIT, str(tmp_path)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    first, second = done.stdout.splitlines()
    assert first.startswith(f"{tmp_path}: the file would grow beyond the allowed size")
    assert second == "[]"


def test_a_removed_blob_and_its_leftovers_are_gone(tmp_path: Path) -> None:
    blobs = FileBlobs(tmp_path / "blobs")
    data = bytes(range(256)) * 9000
    name, other = blobs.put(data), blobs.put(b"another")
    waiting = blobs.root / "tmp"
    # What processes killed while storing the same file left: half of it, all of it; and a stranger.
    (waiting / "half").write_bytes(data[:1_100_000])
    (waiting / "whole").write_bytes(data)
    (waiting / "stranger").write_bytes(b"another visit's")
    (waiting / "empty").write_bytes(b"")
    blobs.remove(name)
    assert not blobs.has(name) and blobs.get(other) == b"another"
    assert {path.name for path in waiting.iterdir()} == {"stranger", "empty"}
    blobs.remove(name)
    blobs.remove("../../etc/passwd")
    assert blobs.put(data) == name and blobs.get(name) == data
