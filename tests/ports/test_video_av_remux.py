"""Remuxed files hold what the recordings hold, by FFmpeg's own hash of the streams."""

from __future__ import annotations

import subprocess
from pathlib import Path

import av
import imageio_ffmpeg
import pytest
from tests.ports.test_video_av_cut import record

from asfound.errors import IntegrityError, RecordingError
from asfound.ports.backends import video_av_remux
from asfound.ports.backends.video_av_remux import AvRemuxer, units_of


def hashes(path: Path, *how: str) -> list[str]:
    """FFmpeg's SHA-256 of each stream, packets copied."""
    call = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", str(path), "-map", "0:v:0",
            "-map", "0:a?", "-c", "copy", *how, "-f", "streamhash", "-"]  # fmt: skip
    done = subprocess.run(call, capture_output=True, text=True, check=True)
    return sorted(done.stdout.split())


def by_ffmpeg(path: Path) -> Path:
    """The same done by FFmpeg's own tool."""
    out = path.with_suffix(".peer.mp4")
    call = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", str(path), "-c", "copy", str(out)]
    subprocess.run(call, check=True)
    return out


def pictures(path: Path) -> str:
    """FFmpeg's SHA-256 of all decoded pictures."""
    call = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", str(path), "-map", "0:v:0",
            "-fps_mode", "passthrough", "-f", "streamhash", "-"]  # fmt: skip
    return subprocess.run(call, capture_output=True, text=True, check=True).stdout


def length_s(path: Path) -> float:
    with av.open(str(path)) as container:
        return float(container.duration or 0) / av.time_base


def test_matroska_goes_over_byte_for_byte(tmp_path: Path) -> None:
    source = record(tmp_path / "a.mkv")
    made = AvRemuxer().remux(source, tmp_path / "a.mp4")
    assert made.tool.startswith("PyAV ") and not made.left_out
    assert hashes(tmp_path / "a.mp4") == hashes(source)
    assert length_s(tmp_path / "a.mp4") == pytest.approx(length_s(source), abs=0.1)


@pytest.mark.parametrize("codec", ["libx264", "libx265"])
def test_a_transport_stream_goes_over_unit_for_unit(tmp_path: Path, codec: str) -> None:
    source = record(tmp_path / "a.ts", codec=codec, sound="")
    AvRemuxer().remux(source, tmp_path / "a.mp4")
    assert hashes(tmp_path / "a.mp4") == hashes(by_ffmpeg(source))
    assert pictures(tmp_path / "a.mp4") == pictures(source)
    assert length_s(tmp_path / "a.mp4") == pytest.approx(length_s(source), abs=0.1)
    with av.open(str(tmp_path / "a.mp4")) as container:
        assert abs(container.start_time or 0) < av.time_base // 4


def test_sound_in_a_transport_stream(tmp_path: Path) -> None:
    source = record(tmp_path / "a.ts")
    AvRemuxer().remux(source, tmp_path / "a.mp4")
    assert len(hashes(source)) == 2 and hashes(tmp_path / "a.mp4") == hashes(by_ffmpeg(source))


@pytest.mark.parametrize(("codec", "sound"), [("mpeg4", "pcm_s16le"), ("mjpeg", "")])
def test_an_avi_goes_over(tmp_path: Path, codec: str, sound: str) -> None:
    source = record(tmp_path / "a.avi", codec=codec, sound=sound)
    AvRemuxer().remux(source, tmp_path / "a.mp4")
    assert hashes(tmp_path / "a.mp4") == hashes(source)
    assert length_s(tmp_path / "a.mp4") == pytest.approx(length_s(source), abs=0.1)


def test_what_an_mp4_cannot_hold_is_named(tmp_path: Path) -> None:
    source = record(tmp_path / "a.avi", codec="mpeg4", sound="pcm_alaw")
    made = AvRemuxer().remux(source, tmp_path / "a.mp4")
    assert made.left_out == ("stream 1 (audio, pcm_alaw)",)
    with av.open(str(tmp_path / "a.mp4")) as container:
        assert [one.type for one in container.streams] == ["video"]


def test_what_cannot_be_done_is_one_line(tmp_path: Path) -> None:
    mp4 = record(tmp_path / "a.mp4")
    with pytest.raises(RecordingError, match="already"):
        AvRemuxer().remux(mp4, tmp_path / "b.mp4")
    raw = record(tmp_path / "a.h264", sound="", container="h264")
    with pytest.raises(RecordingError, match="times") as caught:
        AvRemuxer().remux(raw, tmp_path / "c.mp4")
    (tmp_path / "text.mkv").write_bytes(b"no recording at all")
    with pytest.raises(RecordingError, match="cannot be remuxed") as caught:
        AvRemuxer().remux(tmp_path / "text.mkv", tmp_path / "d.mp4")
    assert "\n" not in str(caught.value)


def test_another_content_is_found_when_read_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source = record(tmp_path / "a.mkv")
    real = video_av_remux._sums
    monkeypatch.setattr(video_av_remux, "_sums", lambda *of: (*real(*of)[1:], ""))
    with pytest.raises(IntegrityError, match="not the same"):
        AvRemuxer().remux(source, tmp_path / "a.mp4")


def test_units_are_the_same_however_they_are_framed() -> None:
    # ISO/IEC 14496-10 annex B and ISO/IEC 14496-15, written by hand.
    start = b"\0\0\0\1\x67ab\0\0\1\x68c\0"
    sized = b"\0\0\0\3\x67ab\0\0\0\2\x68c"
    assert list(units_of(start, "h264", 0)) == list(units_of(sized, "h264", 4)) == [b"gab", b"hc"]
