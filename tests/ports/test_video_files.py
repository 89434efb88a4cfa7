"""Recordings in folders: each once, in order, without following links, in little memory."""

from __future__ import annotations

import os
import tracemalloc
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.errors import NotFound, RecordingError
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.backends.video_files import recordings


def test_order_is_that_of_sorted_paths(tmp_path: Path) -> None:
    for name in ("b/1.mp4", "b.mp4", "b-/1.mp4", "a/z/1.ts", "a/1.ts", "B/1.ts", "ä.mp4"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).touch()
    assert list(recordings(tmp_path)) == sorted(tmp_path.rglob("*.*[4s]"))


def test_links_are_not_followed(tmp_path: Path) -> None:
    drive, outside = tmp_path / "drive", tmp_path / "outside"
    for folder in (drive, outside):
        folder.mkdir()
        (folder / "ch1.mp4").touch()
    (drive / "out").symlink_to(outside)
    (drive / "round").symlink_to(drive)
    (drive / "ch2.mp4").symlink_to(outside / "ch1.mp4")
    (drive / "broken.mp4").symlink_to(tmp_path / "nowhere")
    assert list(recordings(drive)) == [drive / "ch1.mp4"]
    # A link that a person names is what that person means.
    assert list(recordings(drive / "ch2.mp4")) == [drive / "ch2.mp4"]
    assert list(recordings(drive / "out")) == [drive / "out" / "ch1.mp4"]


def test_a_folder_that_cannot_be_read_is_never_passed_over_in_silence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("a", "locked", "lost+found"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "ch1.mp4").touch()
    scandir = os.scandir

    def guarded(path: Path) -> object:
        # As for anybody but the administrator, for whom no permission is missing.
        if Path(path).name in ("locked", "lost+found"):
            raise PermissionError(13, "Permission denied")
        return scandir(path)

    monkeypatch.setattr(os, "scandir", guarded)
    # lost+found is ext4's own and the administrator's (e2fsprogs, mklost+found(8)).
    assert list(recordings(tmp_path)) == [tmp_path / "a" / "ch1.mp4", tmp_path / "locked"]
    with pytest.raises(RecordingError, match="may not be read"):
        AvVideo().facts(tmp_path / "locked")


def image(**parts: bytes) -> bytes:
    """A first 2 KiB with these bytes at these places."""
    made = bytearray(2048)
    for at, data in parts.items():
        made[int(at[2:]) : int(at[2:]) + len(data)] = data
    return bytes(made)


@pytest.mark.parametrize(
    ("data", "what"),
    [
        # Boot sectors and superblocks as their makers' documents have them: see drive_image.py.
        (image(at0=b"\xeb\x58\x90mkfs.fat", at82=b"FAT32   ", at510=b"\x55\xaa"), "FAT"),
        (image(at0=b"\xeb\x76\x90EXFAT   ", at510=b"\x55\xaa"), "exFAT"),
        (image(at0=b"\xeb\x52\x90NTFS    ", at510=b"\x55\xaa"), "NTFS"),
        (image(at1080=b"\x53\xef"), "ext4"),
        (image(at446=b"\0\0\0\0\x83\0\0\0\0\x08\0\0\0\x10\0\0", at510=b"\x55\xaa"), "partitions"),
        (image(at510=b"\x55\xaa", at512=b"EFI PART"), "partitions"),
    ],
)
def test_an_image_of_a_drive_is_to_be_mounted(tmp_path: Path, data: bytes, what: str) -> None:
    (tmp_path / "drive.img").write_bytes(data)
    with pytest.raises(RecordingError, match=rf"image of a drive \({what}\); mount it read-only"):
        recordings(tmp_path / "drive.img")


@pytest.mark.parametrize("data", [b"", b"\0" * 600, image(at510=b"\x55\xaa"), b"\x55\xaa" * 999])
def test_other_files_are_no_images(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "ch1.dat").write_bytes(data)
    assert list(recordings(tmp_path / "ch1.dat")) == [tmp_path / "ch1.dat"]


def test_a_path_too_long_to_be_handed_over_is_a_finding(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """POSIX bounds a path that is handed over (PATH_MAX), not how deep folders lie."""
    monkeypatch.chdir(tmp_path)
    for _ in range(20):
        Path("d" * 250).mkdir()
        monkeypatch.chdir("d" * 250)
    Path("ch1.mp4").touch()
    monkeypatch.chdir(tmp_path)
    [deep] = recordings(tmp_path)
    with pytest.raises(RecordingError, match="cannot be read \\(file name too long\\)"):
        AvVideo().facts(deep)
    with pytest.raises(NotFound, match="cannot be reached"):
        recordings(deep)


def test_what_cannot_be_searched_is_said_before_the_first_file(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match="no recordings in this folder"):
        recordings(tmp_path)
    with pytest.raises(NotFound, match="no such file or folder"):
        recordings(tmp_path / "nowhere")


def peak_of_walking(drive: Path, folders: int) -> int:
    """Bytes at most while ``folders`` folders of 200 recordings each are gone through: the least
    of three times, since threads that other tests left behind take memory, too."""
    for folder in range(folders):
        place = drive / f"cam{folder % 8 + 1}" / f"{folder:03}"
        place.mkdir(parents=True)
        # Hard links: quickly made and quickly gone.
        (place / "000.mp4").touch()
        for number in range(1, 200):
            os.link(place / "000.mp4", place / f"{number:03}.mp4")
    peaks = []
    for _ in range(3):
        tracemalloc.start()
        assert sum(1 for _ in recordings(drive)) == folders * 200
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    return min(peaks)


def test_memory_is_that_of_one_folder(tmp_path: Path) -> None:
    small, large = (peak_of_walking(tmp_path / str(n), n) for n in (8, 64))
    assert large < 2 * small


@given(name=st.text(st.characters(exclude_characters="/\0", exclude_categories=["Cs"]), max_size=9))
def test_any_name_is_found(name: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    folder = tmp_path_factory.mktemp("any")
    path = folder / f"x{name}.MP4"
    path.touch()
    assert list(recordings(folder)) == [path]
