"""What a file is by its first bytes, against files that Pillow and PyAV write."""

from __future__ import annotations

import io
from pathlib import Path

import av
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from asfound.calc.media_kind import ENOUGH, clip_suffix, media_kind


@pytest.mark.parametrize("name", ["JPEG", "PNG", "WEBP", "TIFF", "BMP", "AVIF"])
def test_pictures_as_pillow_writes_them(name: str) -> None:
    out = io.BytesIO()
    Image.new("RGB", (40, 30), (10, 200, 90)).save(out, name)
    assert media_kind(out.getvalue()[:ENOUGH]) == "photograph"


@pytest.mark.parametrize("suffix", [".mp4", ".mov", ".mkv", ".avi", ".webm"])
def test_clips_as_ffmpeg_writes_them(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"clip{suffix}"
    with av.open(str(path), "w") as box:
        stream = box.add_stream("vp9" if suffix == ".webm" else "mpeg4", rate=5)
        stream.width, stream.height, stream.pix_fmt = 64, 48, "yuv420p"
        frame = av.VideoFrame.from_ndarray(np.zeros((48, 64, 3), np.uint8), format="rgb24")
        box.mux(stream.encode(frame))
        box.mux(stream.encode())
    head = path.read_bytes()[:ENOUGH]
    assert media_kind(head) == "clip"
    assert clip_suffix(head) in (".mp4", ".mkv", ".avi")


def test_a_heic_photograph_is_no_clip() -> None:
    # ISO/IEC 23008-12, 10.2: the brand 'heic'; 'mif1' is its structural brand.
    for brand in (b"heic", b"mif1", b"avif"):
        assert media_kind(b"\0\0\0\x18ftyp" + brand + b"\0\0\0\0") == "photograph"
    assert media_kind(b"\0\0\0\x18ftypqt  \0\0\0\0") == "clip"


@given(st.binary(max_size=12))
def test_text_and_programs_are_neither(data: bytes) -> None:
    for start in (b"<html>", b"%PDF-1.7", b"\x7fELF", b"PK\x03\x04", b"GIF89a"):
        assert media_kind(start + data) is None
