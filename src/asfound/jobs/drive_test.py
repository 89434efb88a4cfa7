"""Test a drive within its free space: write blocks that know their place, read them back."""

from __future__ import annotations

from dataclasses import dataclass, replace

from asfound.calc.drive_plan import Sizes, margin_of, plan_test
from asfound.errors import UsageError
from asfound.jobs.drive_test_judge import Seen, judge_test
from asfound.jobs.drive_test_run import Run
from asfound.model.drive_test import DriveTested
from asfound.ports.clock import Clock
from asfound.ports.drive_space import DriveSpace
from asfound.ports.progress import Progress, silent

USUAL = Sizes()
CAUTION = (
    "on a false drive a test of its free space overwrites what lies on it, and what was deleted "
    "cannot be recovered afterwards: never test a drive that holds or held footage that someone "
    "needs"
)
"""Said before every test."""


@dataclass(frozen=True, slots=True)
class DriveTest:
    """``seed``: makes the run's content, another one each time. ``most``: bytes of the run at most
    (None: all that is free but for a margin). ``sampled``: only samples of it are written.
    ``needs``: bytes a second that it has to take (None: not asked)."""

    seed: int
    most: int | None = None
    sampled: bool = False
    needs: float | None = None
    sizes: Sizes = USUAL


def try_drive(
    request: DriveTest, *, space: DriveSpace, clock: Clock, progress: Progress = silent
) -> DriveTested:
    """Write, flush, read back, compare; the test's own files are gone afterwards, whatever happens.

    Stops early when the drive counts round or forgets: to write on would only overwrite more of
    it. Raises UsageError when there is no room, or all of the system's disk was meant,
    StorageError when the place cannot be used, Interrupted when ``progress`` does.
    """
    before = space.begin()
    try:
        room = space.space()
        if room.system and request.most is None:
            raise UsageError(
                "the computer runs from this disk, which must not be filled: name where the stick "
                "or drive is mounted, or say how much to test (--most 2GB)"
            )
        free = max(0, room.free - margin_of(room.total))
        plan = plan_test(min(free, request.most or free), request.sizes, request.sampled)
        if not plan:
            raise UsageError(
                f"no room for a test: {room.free} bytes are free, {margin_of(room.total)} of them "
                "stay free; delete what is not needed, or use an empty drive"
            )
        run = Run(request.seed, request.sizes, space, clock, progress)
        run.write(plan)
        run.read()
        seen = Seen(run.told(), room, plan, request.sampled, request.needs, run.past())
        result = judge_test(seen)
    finally:
        after = space.end()
    return replace(result, removed=before.removed, left=after.left)
