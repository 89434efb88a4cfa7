"""How the sensor of a log sits in its vehicle, and in what unit it measures; never guessed."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asfound.calc.log_survey import Survey
from asfound.calc.mounting import (
    GRAVITY_MS2,
    Floats,
    Forward,
    Means,
    Up,
    axes_of,
    find_forward,
    find_up,
    level_axes,
    middle,
    motion_of,
    quiet_bins,
)
from asfound.calc.plain_text import plain
from asfound.calc.track_motion import speed_and_course
from asfound.errors import UsageError
from asfound.model.drive_log import Track
from asfound.model.trigger import Direction

SIZES_MS2 = {"g": GRAVITY_MS2, "mg": GRAVITY_MS2 / 1000, "m/s2": 1.0}
COUNTS = re.compile(r"(\d{1,7}(?:[.]\d{1,4})?)\s*/\s*g")
UNMISTAKABLE = 0.06
"""Part by which what a sensor at rest measures may be off gravity, for its unit to be clear."""
NO_GRAVITY_MS2 = 3.0
"""At rest a sensor measures 9.8; what is left of it where gravity was taken away is far less."""
STANDING_MS = 0.5
SAID_DEG = 5.0
"""How well a person mounts or names an axis (own choice)."""
AXES = {"x": 0, "y": 1, "z": 2}

ALL = (Direction.FORWARD, Direction.SIDEWAYS, Direction.UPRIGHT)


@dataclass(frozen=True, slots=True)
class Said:
    """What a person says of a sensor: which of its axes points up and forward ("z", "-x"; "": to be
    found), and whether gravity is in its figures ("included", "removed"; "": to be found)."""

    up: str = ""
    forward: str = ""
    gravity: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Mounted:
    """Figures times ``scale`` are m/s². ``up`` and ``forward`` are None where they could not be
    told; ``notes`` say why."""

    scale: float
    gravity: bool
    rest_ms2: Floats
    up: Up | None
    forward: Forward | None
    notes: tuple[str, ...]

    @property
    def directions(self) -> tuple[Direction, ...]:
        """What can be watched."""
        if self.up is None:
            return (Direction.TOTAL,)
        return (Direction.LEVEL, Direction.UPRIGHT) if self.forward is None else ALL

    def axes(self) -> Floats:
        """(3, 3) for jobs.sweep_log.Mount; turned anyhow where it is not known."""
        if self.up is None:
            return np.eye(3)
        if self.forward is None:
            return np.stack([*level_axes(self.up.axis), self.up.axis])
        return axes_of(self.up.axis, self.forward.axis)


def mount_log(name: str, survey: Survey, unit: str, said: Said, track: Track | None) -> Mounted:
    """Raises UsageError where unit or gravity have to be said."""
    raw = survey.means
    quiet = quiet_bins(raw)
    still = raw.xyz_ms2[quiet] if quiet.sum() > 10 else raw.xyz_ms2
    size = float(np.linalg.norm(middle(still)))
    scale = _scale(name, unit, size, said.gravity)
    gravity = said.gravity != "removed" and size * scale > NO_GRAVITY_MS2
    if said.gravity == "included" and not gravity:
        raise UsageError(
            f"{plain(name)}: at rest it measures {size * scale:.2f} m/s², which is not gravity: "
            "say gravity removed, or the right unit"
        )
    means = Means(raw.times_s, raw.xyz_ms2 * scale, raw.width_s)
    speed = speed_and_course(track) if track is not None else None
    standing = None
    if track is not None and speed is not None:
        standing = _standing(means, track, speed[0])
    up, notes = _up(means, standing, said, gravity)
    rest = up.rest_ms2 if up is not None else middle(still) * scale
    if up is None:
        return Mounted(scale, gravity, rest, None, None, notes)
    if said.forward:
        return Mounted(scale, gravity, rest, up, _said_forward(name, said, up), notes)
    if track is None or speed is None:
        why = ("forward cannot be told without a track: give one, or say forward x",)
        return Mounted(scale, gravity, rest, up, None, notes + why)
    motion = motion_of(track.times_s, *speed)
    forward = find_forward(means, up, motion)
    if forward is None:
        why = ("could not tell which way is forward: too little braking and turning under the "
               "track, or track and log are not of the same time",)  # fmt: skip
        return Mounted(scale, gravity, rest, up, None, notes + why)
    return Mounted(scale, gravity, rest, up, forward, notes)


def scale_of(unit: str) -> float | None:
    """m/s² a unit of the log; None for a unit that is none."""
    if unit in SIZES_MS2:
        return SIZES_MS2[unit]
    counts = COUNTS.fullmatch(unit)
    return GRAVITY_MS2 / float(counts[1]) if counts and float(counts[1]) > 0 else None


def axis_of(text: str) -> NDArray[np.float64] | None:
    """The unit vector of "x", "+y" or "-z"; None for anything else."""
    name = text.strip().casefold()
    sign = -1.0 if name.startswith("-") else 1.0
    place = AXES.get(name.lstrip("+-"))
    return None if place is None or len(name) > 2 else sign * np.eye(3)[place]


def _scale(name: str, unit: str, size: float, gravity: str) -> float:
    if unit:
        made = scale_of(unit)
        if made is None:
            raise UsageError(f"unit {unit!r}: g, mg, m/s2, or counts a g such as 16384/g")
        return made
    fits = [
        each for each, ms2 in SIZES_MS2.items() if abs(size * ms2 / GRAVITY_MS2 - 1) < UNMISTAKABLE
    ]
    if gravity == "removed" or len(fits) != 1:
        raise UsageError(
            f"{plain(name)}: at rest it measures {size:.3g}, which leaves the unit open: say map "
            "unit=g, mg or m/s2, and gravity removed where gravity is not in it"
        )
    return SIZES_MS2[fits[0]]


def _up(
    means: Means, standing: NDArray[np.bool_] | None, said: Said, gravity: bool
) -> tuple[Up | None, tuple[str, ...]]:
    named = axis_of(said.up) if said.up else None
    if not gravity:
        quiet = quiet_bins(means)
        rest = middle(means.xyz_ms2[quiet] if quiet.sum() > 10 else means.xyz_ms2)
        if named is None:
            note = "gravity is not in the figures, so up cannot be told: say up z, or as it is"
            return None, (note,)
        return Up(named, rest, SAID_DEG), ("gravity is not in the figures",)
    found = find_up(means, standing)
    if found is None:
        return None, ("could not tell which way is up: too little of the log is quiet",)
    if named is None:
        return found, ()
    off = float(np.degrees(np.arccos(np.clip(found.axis @ named, -1, 1))))
    if off > 30:
        return found, (f"gravity lies {off:.0f} degrees off the axis said to be up: gravity it is",)
    return found, ()


def _said_forward(name: str, said: Said, up: Up) -> Forward:
    named = axis_of(said.forward)
    if named is None:
        raise UsageError(f"forward {said.forward}: x, y or z, or -x, -y or -z")
    try:
        level = axes_of(up.axis, named)[0]
    except ValueError:
        raise UsageError(
            f"{plain(name)}: forward {said.forward} points up or down; name another axis"
        ) from None
    return Forward(level, SAID_DEG, 0.0, 1.0)


def _standing(means: Means, track: Track, speed: Floats) -> NDArray[np.bool_]:
    known = np.isfinite(speed)
    if known.sum() < 2:
        return np.zeros(len(means.times_s), np.bool_)
    at = np.interp(means.times_s, track.times_s[known], speed[known], left=np.inf, right=np.inf)
    return np.asarray(at < STANDING_MS)
