"""A stick in memory that loses what was not settled, and dies where a test says (tests only)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from asfound.errors import StorageError
from asfound.model.stick import Entry, StickFacts
from asfound.ports.drive_space import Past

FACTS = StickFacts("vfat", "/dev/pretend1", 64 << 20, 48 << 20, 4096)


class Killed(BaseException):
    """The program ends here, without a chance to do anything more."""


@dataclass
class MemoryImage:
    """An image; ``later``: its content from the second time it is read."""

    name: str
    data: bytes
    later: bytes | None = None
    reads: int = 0

    def size(self) -> int:
        return len(self.data)

    def pieces(self) -> Iterator[bytes]:
        self.reads += 1
        data = self.data if self.later is None or self.reads == 1 else self.later
        for start in range(0, len(data), 1 << 20):
            yield data[start : start + (1 << 20)]


@dataclass
class MemoryStick:
    """``things``: content by path, None for a folder. ``fault`` happens at change number ``at``
    (from 1): "before" and "after" kill around it, "gone" ends every answer, "once" refuses one
    time, "full" refuses all that needs room from then on. ``bite``: most bytes of one write.
    ``flips``: what is read back of new files is wrong. ``links``: paths that are links."""

    things: dict[str, bytes | None] = field(default_factory=dict)
    facts_now: StickFacts = FACTS
    at: int = 0
    fault: str = "before"
    bite: int = 1 << 30
    flips: bool = False
    past: Past = Past.DIRECT
    links: tuple[str, ...] = ()
    changes: int = 0
    dead: bool = False
    gone: bool = False
    open: str = ""
    unsettled: set[str] = field(default_factory=set)

    def begin(self) -> None:
        self._alive()

    def end(self) -> None:
        self.open = ""

    def facts(self) -> StickFacts:
        self._alive()
        return self.facts_now

    def entries(self) -> tuple[Entry, ...]:
        self._alive()
        return tuple(self._entry(path) for path in sorted(self.things))

    def _entry(self, path: str) -> Entry:
        data = self.things[path]
        if path in self.links:
            return Entry(path, "link")
        return Entry(path, "folder") if data is None else Entry(path, "file", len(data))

    def make_folder(self, path: str) -> None:
        with_ = self._change()
        assert path not in self.things
        self.things[path] = None
        self._after(with_)

    def create(self, path: str) -> None:
        with_ = self._change()
        assert path not in self.things and self.things[path.rpartition("/")[0]] is None
        self.things[path] = b""
        self.open = path
        self.unsettled.add(path)
        self._after(with_)

    def write(self, data: memoryview) -> int:
        with_ = self._change(room=True)
        taken = data[: self.bite]
        self.things[self.open] = (self.things[self.open] or b"") + bytes(taken)
        self._after(with_)
        return len(taken)

    def settle(self) -> None:
        with_ = self._change(room=True)
        self.unsettled.discard(self.open)
        self._after(with_)

    def read(self, path: str, offset: int, size: int) -> bytes:
        self._alive()
        data = self.things[path] or b""
        if self.flips and path.endswith(".part"):
            data = bytes([data[0] ^ 1]) + data[1:]
        return data[offset : offset + size]

    def rename(self, path: str, to: str) -> None:
        with_ = self._change()
        assert to not in self.things, "nothing is ever renamed over something else"
        assert path not in self.unsettled, "nothing is named before it is settled"
        self.things[to] = self.things.pop(path)
        self._after(with_)

    def remove(self, path: str) -> None:
        with_ = self._change()
        if path not in self.things:
            raise StorageError(f"/media/stick/{path}: there is no such file")
        del self.things[path]
        self._after(with_)

    def put_in_again(self, lost: bool) -> MemoryStick:
        """The stick as the next run finds it; ``lost``: what was not settled is empty or gone."""
        left = dict(self.things)
        for path in self.unsettled if lost else ():
            if path in left:
                left[path] = b""
        return MemoryStick(left, self.facts_now)

    def _alive(self) -> None:
        if self.dead:
            raise Killed
        if self.gone:
            raise StorageError("/media/stick: the stick has gone; put it in again")

    def _change(self, room: bool = False) -> bool:
        """True when the fault comes after the change."""
        self._alive()
        self.changes += 1
        if self.at and self.fault == "full" and self.changes >= self.at and room:
            raise StorageError("/media/stick: the stick is full; delete what is not needed")
        if self.changes != self.at:
            return False
        if self.fault == "before":
            self.dead = True
        if self.fault == "gone":
            self.gone = True
        self._alive()
        if self.fault == "once":
            raise StorageError("/media/stick: the stick does not answer")
        if self.fault == "ctrl-c":
            raise KeyboardInterrupt
        return self.fault == "after"

    def _after(self, dies: bool) -> None:
        if dies:
            self.dead = True
            raise Killed
