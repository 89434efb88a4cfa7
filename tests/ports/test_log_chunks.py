"""Logs on disk: pieces again and again, gzip, and what is no file."""

from __future__ import annotations

import gzip
import os
from pathlib import Path

import pytest

from asfound.errors import InputError, NotFound
from asfound.ports.backends.log_chunks import CHUNK, log_chunks


def test_pieces(tmp_path: Path) -> None:
    text = bytes(range(256)) * 6000
    (tmp_path / "a.csv").write_bytes(text)
    (tmp_path / "a.csv.gz").write_bytes(gzip.compress(text))
    for name in ("a.csv", "a.csv.gz"):
        chunks = log_chunks(tmp_path / name)
        for _ in range(2):
            pieces = list(chunks())
            assert b"".join(pieces) == text and max(map(len, pieces)) <= CHUNK


def test_what_is_no_log(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="no such file"):
        log_chunks(tmp_path / "none")
    with pytest.raises(InputError, match="folder"):
        log_chunks(tmp_path)
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(InputError, match="pipe"):
        log_chunks(tmp_path / "pipe")
    (tmp_path / "file").write_bytes(b"x")
    with pytest.raises(NotFound, match="stands where a folder"):
        log_chunks(tmp_path / "file" / "deeper")
    (tmp_path / "cut.gz").write_bytes(gzip.compress(os.urandom(4000))[:2000])
    with pytest.raises(InputError, match="damaged gzip"):
        list(log_chunks(tmp_path / "cut.gz")())
