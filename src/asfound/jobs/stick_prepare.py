"""Put exactly one firmware image on a stick, and believe it only when it came back."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC

from asfound.calc.stick_names import joined, split
from asfound.errors import IntegrityError, StorageError, UsageError
from asfound.jobs.drive_test import DriveTest, try_drive
from asfound.jobs.stick_copy import copy_image, hash_image, hash_on_stick, put_file
from asfound.jobs.stick_look import (
    IMAGE_PART,
    PARTS,
    SLIP_PART,
    check_name,
    check_ours,
    check_place,
    check_room,
    checked_sha256,
    clashes,
    images,
    kind_findings,
    not_ours,
)
from asfound.jobs.stick_others import with_contents
from asfound.jobs.stick_slip import MOST_OTHERS, slip_bytes
from asfound.jobs.stick_slip import NAME as SLIP
from asfound.model.drive_test import DriveTestVerdict
from asfound.model.menu_map import FirmwarePlace
from asfound.model.stick import (
    Entry,
    Slip,
    StickFault,
    StickFinding,
    StickPrepared,
    StickVerdict,
)
from asfound.ports.clock import Clock
from asfound.ports.drive_space import DriveSpace, Past
from asfound.ports.progress import Progress, silent
from asfound.ports.stick import OURS, Image, Stick


@dataclass(frozen=True, slots=True)
class PrepareStick:
    """``recorder``: for which one, in words. ``name``: the image's on the stick ("": its own).
    ``sha256``: what the image must have ("": not compared). ``remove``: other images that may be
    taken away, by path or name. ``test``: of the stick's free space first (None: no test)."""

    place: FirmwarePlace
    recorder: str
    by: str
    name: str = ""
    sha256: str = ""
    remove: tuple[str, ...] = ()
    test: DriveTest | None = None


@dataclass(frozen=True, slots=True)
class StickTools:
    """The stick, its free space for the test, the clock, and who watches."""

    stick: Stick
    space: DriveSpace
    clock: Clock
    progress: Progress = silent


def prepare_stick(request: PrepareStick, *, image: Image, tools: StickTools) -> StickPrepared:
    """Check, copy under another name, read back, compare, name it, write the slip.

    Nothing is written while something is in the way (verdict "blocked"). Killed anywhere, the
    image's name is missing or has the whole image, and a slip is there only for that; the same
    call goes on. Raises UsageError, NotFound, StorageError, and IntegrityError when hashes differ.
    """
    name = request.name or image.name
    check_name(name, request.place)
    wanted = checked_sha256(request.sha256)
    sha256, size = hash_image(image, tools.progress)
    if wanted and wanted != sha256:
        raise IntegrityError(
            f"{image.name}: its SHA-256 is {sha256} and should be {wanted}; fetch the image again, "
            "nothing was written"
        )
    tools.stick.begin()
    try:
        path = joined(request.place.folder, name)
        return _Preparation(request, image, tools, Entry(path, "file", size), sha256).run()
    finally:
        tools.stick.end()


@dataclass
class _Preparation:
    request: PrepareStick
    image: Image
    tools: StickTools
    target: Entry
    sha256: str

    def run(self) -> StickPrepared:
        stick, target = self.tools.stick, self.target
        facts = stick.facts()
        check_place(facts, target.size)
        entries = stick.entries()
        check_ours(entries)
        kept = self._is_there(entries)
        present = images(entries, self.request.place)
        others = tuple(one for one in present if not (kept and one.path == target.path))
        remove = self._named(others, entries)
        found = self._in_the_way(entries, others, remove)
        parts = tuple(one for one in entries if one.path in PARTS)
        result = StickPrepared(
            StickVerdict.BLOCKED, facts, target.path, self.sha256, target.size,
            others=not_ours(entries, target.path), findings=found,
        )  # fmt: skip
        if found:
            return result
        if not kept:
            check_room(facts, target.size, sum(one.size for one in parts))
        tested = self._test()
        if any(one.kind == StickFault.CAPACITY for one in tested):
            return replace(result, findings=tested)
        gone = self._write(entries, parts, remove, kept)
        past = stick.past
        unsure = (_unsure(target.path),) if past == Past.UNSURE else ()
        others_now = self._confirmed()
        self._slip(with_contents(stick, others_now, self.tools.progress))
        return replace(
            result,
            verdict=StickVerdict.PREPARED,
            kept=kept,
            past=str(past),
            removed=gone,
            left_over=tuple(one.path for one in parts),
            others=others_now,
            findings=(*kind_findings(facts), *tested, *unsure),
        )

    def _is_there(self, entries: tuple[Entry, ...]) -> bool:
        """Whether the image lies in its place already, whole."""
        if self.target not in entries:
            return False
        return hash_on_stick(self.tools.stick, self.target, self.tools.progress) == (
            self.sha256,
            self.target.size,
        )

    def _named(self, others: tuple[Entry, ...], entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
        """The other images that may go. Raises UsageError for names of anything else; a name that
        is not there is no fault: an interrupted run may have taken it away."""
        by_name = {one.path: one for one in others} | {split(one.path)[1]: one for one in others}
        there = {one.path for one in entries} | {
            joined(self.request.place.folder, name) for name in by_name
        }
        for name in self.request.remove:
            if name not in by_name and name in there:
                raise UsageError(
                    f"--remove-others {name!a}: is no other image of this recorder, and nothing "
                    "else is removed; leave it out"
                )
        return tuple({by_name[name]: None for name in self.request.remove if name in by_name})

    def _in_the_way(
        self, entries: tuple[Entry, ...], others: tuple[Entry, ...], remove: tuple[Entry, ...]
    ) -> tuple[StickFinding, ...]:
        stays = [one for one in entries if one not in remove]
        found = list(clashes(stays, self.target.path))
        seen = {one.path for one in found} | {one.path for one in remove}
        for one in others:
            if one.path not in seen:
                what = "has the image's name and other content"
                if one.path != self.target.path:
                    what = "is another image that the recorder might take"
                note = f"{what}; move it away, or name it with --remove-others"
                found.append(StickFinding(StickFault.OTHER_IMAGE, one.path, note))
        return tuple(found)

    def _test(self) -> tuple[StickFinding, ...]:
        if self.request.test is None:
            return ()
        tools = self.tools
        tested = try_drive(
            self.request.test, space=tools.space, clock=tools.clock, progress=tools.progress
        )
        if tested.verdict == DriveTestVerdict.FAULTY:
            why = "; ".join(one.note for one in tested.findings) or "not all came back"
            return (StickFinding(StickFault.CAPACITY, "", f"{why}: use another stick"),)
        if tested.verdict == DriveTestVerdict.COULD_NOT_TELL:
            why = "; ".join(tested.unclear) or "too little was tested"
            note = f"whether it holds what it says could not be told: {why}"
            return (StickFinding(StickFault.CAPACITY_UNSURE, "", note),)
        return ()

    def _write(
        self,
        entries: tuple[Entry, ...],
        parts: tuple[Entry, ...],
        remove: tuple[Entry, ...],
        kept: bool,
    ) -> tuple[str, ...]:
        """Bring the image to its place; paths of other images that went."""
        stick, there = self.tools.stick, {one.path for one in entries}
        if OURS not in there:
            stick.make_folder(OURS)
        # First: from here on no slip says anything of a stick that is being changed.
        for path in (SLIP, *(one.path for one in parts)):
            if path in there:
                stick.remove(path)
        done = kept
        try:
            if not kept:
                self._folders(there)
                copy_image(self.image, stick, IMAGE_PART, self.sha256, self.tools.progress)
                self._read_back(Entry(IMAGE_PART, "file", self.target.size))
            for one in remove:
                stick.remove(one.path)
            if not kept:
                stick.rename(IMAGE_PART, self.target.path)
                done = True
        finally:
            if not done:
                with suppress(StorageError):
                    stick.remove(IMAGE_PART)
        return tuple(one.path for one in remove)

    def _folders(self, there: set[str]) -> None:
        made = ""
        for part in self.request.place.folder.split("/") if self.request.place.folder else ():
            made = joined(made, part)
            if made not in there:
                self.tools.stick.make_folder(made)

    def _read_back(self, entry: Entry) -> None:
        back = hash_on_stick(self.tools.stick, entry, self.tools.progress)
        if back != (self.sha256, entry.size):
            raise IntegrityError(
                f"{self.target.path}: {back[1]} bytes came back from the stick with SHA-256 "
                f"{back[0]}, not what was written; use another stick"
            )

    def _confirmed(self) -> tuple[Entry, ...]:
        """What else is on the stick, once the image is the one that a recorder finds."""
        entries = self.tools.stick.entries()
        if images(entries, self.request.place) != (self.target,):
            raise IntegrityError(
                f"{self.target.path}: is not the one image on the stick after all; take out what "
                "the recorder might take, and run the command again"
            )
        return not_ours(entries, self.target.path)

    def _slip(self, others: tuple[Entry, ...]) -> None:
        now = self.tools.clock.now().astimezone(UTC).replace(microsecond=0)
        slip = Slip(
            self.target.path, self.sha256, self.target.size, now.isoformat(), self.request.by,
            self.request.recorder, self.request.place.folder, self.request.place.pattern,
            others if len(others) <= MOST_OTHERS else None,
        )  # fmt: skip
        put_file(self.tools.stick, SLIP_PART, SLIP, slip_bytes(slip))


def _unsure(path: str) -> StickFinding:
    note = "was read back, perhaps from the computer's memory; pull the stick, put it in, check it"
    return StickFinding(StickFault.READ_BACK_UNSURE, path, note)
