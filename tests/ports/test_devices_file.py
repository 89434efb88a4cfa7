"""Paired devices in a file: for its owner alone, whole or as it was."""

from __future__ import annotations

import stat
from datetime import UTC, datetime
from pathlib import Path

import pytest

from asfound.errors import InputError, StorageError
from asfound.model.device import Device
from asfound.ports.backends.devices_file import FileDevices

T0 = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)


def device(number: int) -> Device:
    return Device(f"d{number}", f"phone {number}", f"{number:064x}", T0)


def test_secret_and_devices_outlive_the_program(tmp_path: Path) -> None:
    path = tmp_path / "home" / "devices.json"
    first = FileDevices(path)
    secret = first.secret()
    assert len(secret) == 32
    for number in range(3):
        first.add(device(number))
    first.drop("d1")
    first.drop("nobody")
    again = FileDevices(path)
    assert again.secret() == secret == first.secret()
    assert [item.id for item in again.devices()] == ["d0", "d2"]
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert [item.name for item in path.parent.iterdir()] == ["devices.json"]


def test_what_another_program_changed_is_seen(tmp_path: Path) -> None:
    one, two = (FileDevices(tmp_path / "devices.json") for _ in range(2))
    one.add(device(1))
    two.add(device(2))
    assert [item.id for item in one.devices()] == ["d1", "d2"]


@pytest.mark.parametrize("text", ["", "{}", '{"format":"x","secret":"00","devices":[]}'])
def test_a_damaged_file_is_told(tmp_path: Path, text: str) -> None:
    path = tmp_path / "devices.json"
    path.write_text(text)
    with pytest.raises(InputError, match=r"devices\.json"):
        FileDevices(path).devices()


def test_a_place_where_nothing_can_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(StorageError, match="a file stands where a folder is needed"):
        FileDevices(tmp_path / "file" / "devices.json").secret()
