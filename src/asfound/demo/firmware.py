"""The invented fleet's firmware: images that hold nothing, a catalogue of them, and a rollout."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

FLEET = "Brindlemere Haulage & Coaches"
BOTH = f'approved = [{{ fleet = "{FLEET}", by = "Rosa Lint", on = 2026-02-03 }}]'
"""Who approved most images, as TOML."""

HEAD = """\
# The firmware of the invented fleet. The images hold nothing.
format = "asfound-firmware/1"

[[model]]
map = "marrowby-four"
order = "dotted"
in_field = ["1.08"]

[[model]]
map = "quillfen-octad"
order = "semver"

[[fitted]]
serial = "MF-20417"
hardware = "B"

[[fitted]]
serial = "QO-77120"
hardware = "1"
"""

ROLLOUT = """\
# New firmware for the Marrowby recorders of the invented fleet, bus 217 first.
format = "asfound-rollout/1"
id = "Marrowby 2.03"
map = "marrowby-four"
target = "2.03"
started_on = 2026-03-02
hold_days = 7
waves = [5, 20]
approved_by = "Ada Penrose"
approved_on = 2026-02-27

[pilot]
vehicles = ["217"]

[limits]
rule = "sequential"
acceptable = 0.02
unacceptable = 0.20
alpha = 0.05
beta = 0.10
"""


@dataclass(frozen=True, slots=True)
class _Made:
    """An image: file, size in KiB, and its lines of the catalogue besides."""

    map_id: str
    hardware: str
    version: str
    file: str
    kib: int
    more: tuple[str, ...] = (BOTH,)


IMAGES = (
    _Made("marrowby-four", "A, B", "1.12", "m4-1-12.mfw", 640, (
        'notes = "First version with four channels at full size."', BOTH,
    )),
    _Made("marrowby-four", "B", "2.01", "m4-2-1.mfw", 704, (
        'notes = "New store format; after it there is no way back."',
        'needs = "1.12"', 'floor = "2.01"', 'troubles = ["the first start takes 4 minutes"]', BOTH,
    )),
    _Made("marrowby-four", "B", "2.03", "m4-2-03.mfw", 720, (
        'notes = "Keeps the clock over a flat battery."', 'stones = ["2.01"]', BOTH,
    )),
    _Made("marrowby-four", "B", "2.02", "m4-2-2.mfw", 708, (
        'withdrawn = { on = 2026-02-20, why = "loses the clock when the battery is flat" }',
    )),
    _Made("marrowby-four", "C", "2.03", "m4-c-2-03.mfw", 736),
    _Made("marrowby-four", "B", "2.10", "m4-2-10.mfw", 744, (
        'notes = "For trial on the bench."', 'stones = ["2.03"]',
    )),
    _Made("quillfen-octad", "1", "3.4.1", "octad-3.4.1.qfi", 1200),
    _Made("quillfen-octad", "1", "4.0.2", "octad-4.0.2.qfi", 1280, ('needs = "3.4.0"', BOTH)),
)  # fmt: skip


def lay_firmware(home: Path) -> None:
    """Write ``firmware.toml``, the files of its images and one rollout into a home folder."""
    folder = home / "firmware"
    folder.mkdir()
    parts = [HEAD]
    for one in IMAGES:
        line = f"invented image {one.file} "
        data = (line * (one.kib * 1024 // len(line) + 1))[: one.kib * 1024].encode()
        (folder / one.file).write_bytes(data)
        revisions = ", ".join(f'"{name}"' for name in one.hardware.split(", "))
        digest = hashlib.sha256(data).hexdigest()
        lines = (
            f'[[image]]\nmap = "{one.map_id}"\nhardware = [{revisions}]',
            f'version = "{one.version}"\nfile = "{one.file}"',
            f'size = {len(data)}\nsha256 = "{digest}"', *one.more,
        )  # fmt: skip
        parts.append("\n".join(lines) + "\n")
    (home / "firmware.toml").write_text("\n".join(parts), encoding="utf-8")
    (home / "rollouts").mkdir()
    (home / "rollouts" / "marrowby-2.03.toml").write_text(ROLLOUT, encoding="utf-8")
