"""The benchmark of container scans looks at every file it lays out."""

from __future__ import annotations

from pathlib import Path

import scan


def test_every_file_is_scanned(tmp_path: Path) -> None:
    scan.lay_out(tmp_path, 9)
    drive = tmp_path / "drive"
    assert scan.scan(drive) == scan.read(drive) == 9
    assert scan.ours(sorted(drive.rglob("*.*")))["wall_s"] > 0
    assert scan.peak_mib() > 10
