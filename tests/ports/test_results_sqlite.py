"""Results in SQLite: they come back as they were, or not at all; files are told by content."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.ports.backends.code_version import code_version
from asfound.ports.backends.fingerprint import END_BYTES, SMALL_BYTES, parts
from asfound.ports.backends.results_sqlite import SqliteResults


class Said(list[str]):
    """Lines that were said."""

    def __call__(self, line: str) -> None:
        self.append(line)


@pytest.fixture
def said() -> Said:
    return Said()


@pytest.fixture
def results(tmp_path: Path, said: Said) -> SqliteResults:
    return SqliteResults(tmp_path / "home" / "proofs.db", said)


def aged(path: Path, data: bytes | bytearray, at: float = 1_700_000_000) -> Path:
    path.write_bytes(data)
    os.utime(path, (at, at))
    return path


def test_what_was_stored_comes_back_also_in_another_run(
    tmp_path: Path, results: SqliteResults, said: Said
) -> None:
    assert results.get("a") is None
    assert not (tmp_path / "home").exists(), "nothing is made before something is stored"
    results.put("a", b"one")
    results.put("a", b"two")
    results.put("b", b"")
    assert (results.get("a"), results.get("b")) == (b"two", b"")
    results.close()
    other = SqliteResults(tmp_path / "home" / "proofs.db", said)
    assert other.get("a") == b"two"
    assert other.recalled == 1
    other.reject("a", "no use")
    assert other.get("a") is None
    other.close()
    assert len(said) == 1 and "no use" in said[0]


def test_what_a_killed_process_stored_is_kept(tmp_path: Path, results: SqliteResults) -> None:
    script = (
        "import os, sys\nfrom pathlib import Path\n"
        "from asfound.ports.backends.results_sqlite import SqliteResults\n"
        "made = SqliteResults(Path(sys.argv[1]), print)\n"
        "made.put('a', b'one')\nos.kill(os.getpid(), 9)\n"
    )
    place = tmp_path / "home" / "proofs.db"
    done = subprocess.run([sys.executable, "-c", script, str(place)], check=False)
    assert done.returncode == -9
    assert results.get("a") == b"one"
    results.close()


@pytest.mark.parametrize("change", ["UPDATE looks SET data = x'00'", "UPDATE looks SET sum = ''"])
def test_a_damaged_result_is_passed_over_with_one_line(
    tmp_path: Path, results: SqliteResults, said: Said, change: str
) -> None:
    for key in ("a", "b"):
        results.put(key, b"one")
    base = sqlite3.connect(tmp_path / "home" / "proofs.db")
    with base:
        base.execute(change)
    base.close()
    assert (results.get("a"), results.get("b")) == (None, None)
    assert len(said) == 1 and "looking again" in said[0]
    results.put("a", b"new")
    assert results.get("a") == b"new"
    results.close()


def test_a_file_that_is_no_database_is_told_once_and_left_alone(
    tmp_path: Path, results: SqliteResults, said: Said
) -> None:
    place = tmp_path / "home" / "proofs.db"
    place.parent.mkdir()
    place.write_bytes(b"not a database at all, but long enough to be taken for one" * 20)
    before = place.read_bytes()
    assert results.get("a") is None
    results.put("a", b"one")
    results.reject("a", "no use")
    results.close()
    assert place.read_bytes() == before
    assert len([line for line in said if "delete the file" in line]) == 1


def test_a_home_that_cannot_be_made_costs_the_memory_only(tmp_path: Path, said: Said) -> None:
    (tmp_path / "home").write_text("a file stands here")
    results = SqliteResults(tmp_path / "home" / "proofs.db", said)
    results.put("a", b"one")
    assert results.get("a") is None
    assert len(said) == 1
    results.close()


def change_head(data: bytearray) -> None:
    data[5] ^= 1


def change_tail(data: bytearray) -> None:
    data[-5] ^= 1


def grow(data: bytearray) -> None:
    data.append(0)


@pytest.mark.parametrize("size", [10, 3 * SMALL_BYTES])
@pytest.mark.parametrize("change", [change_head, change_tail, grow])
def test_another_content_has_another_fingerprint(
    tmp_path: Path, results: SqliteResults, size: int, change: Callable[[bytearray], None]
) -> None:
    data = bytearray(os.urandom(size))
    path = aged(tmp_path / "a.mp4", data)
    first = results.fingerprint(path)
    assert first and results.fingerprint(aged(tmp_path / "copy.mp4", data)) == first
    assert results.fingerprint(aged(tmp_path / "a.mp4", data, 1_700_000_004)) != first
    change(data)
    assert results.fingerprint(aged(path, data)) != first


def test_what_is_not_hashed_of_a_large_file_is_told_by_every_byte(
    tmp_path: Path, said: Said
) -> None:
    data = bytearray(4 * SMALL_BYTES)
    path = aged(tmp_path / "a.mp4", data)
    sampled, whole = (SqliteResults(tmp_path / "p.db", said, whole) for whole in (False, True))
    first = sampled.fingerprint(path), whole.fingerprint(path)
    data[END_BYTES + 10] = 1
    aged(path, data)
    # The documented limit (docs/proof.md): same size, same time, changed between the samples.
    assert sampled.fingerprint(path) == first[0]
    assert whole.fingerprint(path) != first[1]
    data[END_BYTES + 10] = 0
    assert whole.fingerprint(aged(path, data, 1_700_009_999)) == first[1], "content alone counts"


def test_a_file_that_was_just_written_or_is_not_there_has_none(
    tmp_path: Path, results: SqliteResults
) -> None:
    path = tmp_path / "a.mp4"
    path.write_bytes(b"now")
    assert results.fingerprint(path) == ""
    os.utime(path, (time.time(), time.time() - 10))
    assert results.fingerprint(path) != ""
    assert results.fingerprint(tmp_path / "none.mp4") == ""
    assert results.fingerprint(tmp_path) == ""


@given(size=st.integers(0, 1 << 44), whole=st.booleans())
def test_the_parts_lie_inside_in_order_and_hold_both_ends(size: int, whole: bool) -> None:
    made = list(parts(size, whole))
    ends = [0]
    for start, length in made:
        assert start >= ends[-1]
        ends.append(start + length)
    assert made[0][0] == 0 and ends[-1] == size
    assert sum(length for _, length in made) <= (size if whole else max(SMALL_BYTES, 0))


def test_the_version_names_what_measures() -> None:
    names = ("libavcodec", "pyav", "numpy", "opencv", "rapidocr", "onnxruntime")
    assert all(f"; {name} " in code_version() for name in names)
    assert " none" not in code_version()
