"""What one file shows, whoever looks at it: found out by a worker, told in plain values.

Nothing here depends on the file's name or on what is expected of it, so that it can be kept and
used again when only those change.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path

from asfound.errors import NotFound, RecordingError
from asfound.jobs.prove_clock import read_burned_clock
from asfound.jobs.prove_clock_looks import Footage
from asfound.jobs.prove_references import References
from asfound.jobs.prove_stream import Looked, Tools, look
from asfound.model.burned_clock import BurnedClock
from asfound.ports.ocr import Ocr
from asfound.ports.pictures import Pictures
from asfound.ports.video import FileFacts, StreamFacts, Video
from asfound.ports.workers import Beat

QUIET_S = 120.0
"""A file may be silent for this long, and as long as reading all of it may take: that much is
read before the first picture comes."""

LIMIT_S, LIMIT_BYTES_S = 300.0, 20e3
"""A file may take this long in all. 20 kB/s: an hour of video at 0.5 Mbit/s in three hours."""


@dataclass(frozen=True, slots=True)
class Eyes:
    """How a file is looked at. ``keep``: pictures of findings and thumbnails are wanted.
    ``ocr``: reads burned-in clocks; None: none is looked for. ``references``: earlier pictures
    that aim is held against. ``whole``: every picture is decoded, not only what looks odd."""

    video: Video
    pictures: Pictures
    max_gap_s: float
    keep: bool
    ocr: Ocr | None = None
    references: References | None = None
    whole: bool = False


@dataclass(frozen=True, slots=True)
class FileLook:
    """What a file shows: facts and one ``looked`` a stream, or in one line why there is
    neither (``fault``). ``clocks``: the burned-in clock of each stream, empty when none was
    looked for."""

    facts: FileFacts | None
    looked: tuple[Looked, ...] = ()
    fault: str = ""
    clocks: tuple[BurnedClock | None, ...] = ()

    def names(self) -> tuple[str, ...]:
        """The names of all pictures that it refers to."""
        shown = [name for one in self.looked for _, name in one.thumbnails]
        evidence = [finding.evidence for one in self.looked for finding in one.findings]
        return tuple(sorted({name for name in (*shown, *evidence) if name}))


@dataclass(frozen=True, slots=True)
class Seen:
    """A look, and the JPEG files that it refers to."""

    look: FileLook
    pictures: tuple[bytes, ...] = ()


class Gathered:
    """Pictures held in memory until the job itself stores them: workers write nothing."""

    def __init__(self) -> None:
        self._kept: dict[str, bytes] = {}

    def all(self) -> tuple[bytes, ...]:
        """Every picture so far."""
        return tuple(self._kept.values())

    def put(self, data: bytes) -> str:
        """Keep ``data``; its SHA-256."""
        name = hashlib.sha256(data).hexdigest()
        self._kept[name] = data
        return name

    def put_file(self, path: Path) -> str:
        """As ``put``."""
        return self.put(path.read_bytes())

    def get(self, name: str) -> bytes:
        """The bytes. Raises NotFound."""
        if name not in self._kept:
            raise NotFound(f"no picture {name!r} has been taken of this file; look at it again")
        return self._kept[name]

    def path(self, name: str) -> Path:
        """Pictures in memory have no place. Raises NotFound."""
        raise NotFound(f"the picture {name!r} is in memory only; store it first")

    def remove(self, name: str) -> None:
        """Forget the bytes."""
        self._kept.pop(name, None)

    def has(self, name: str) -> bool:
        """True when the bytes are here."""
        return name in self._kept


def look_at(file: Path, beat: Beat, *, eyes: Eyes, name: Path | None = None) -> Seen:
    """Everything that ``file`` shows. ``name``: counted from the folder that was given.

    A file that is no recording is a look with a fault."""
    try:
        facts = eyes.video.facts(file)
    except RecordingError as error:
        return Seen(FileLook(None, (), str(error).removeprefix(f"{file}: ")))
    except NotFound:
        return Seen(FileLook(None, (), "it has gone since the folder was searched"))
    gathered = Gathered() if eyes.keep else None
    tools = Tools(eyes.video, eyes.pictures, gathered, beat, eyes.whole)
    looked = tuple(
        _placeless(look(facts, one, eyes.max_gap_s, _aimed(tools, eyes, facts, one, name)), file)
        for one in facts.streams
    )
    clocks = tuple(
        read_burned_clock(
            Footage(file, stream.index, one.duration_s), video=eyes.video, ocr=eyes.ocr
        )
        for stream, one in zip(facts.streams, looked, strict=True)
        if eyes.ocr is not None
    )
    return Seen(FileLook(facts, looked, clocks=clocks), gathered.all() if gathered else ())


def _aimed(
    tools: Tools, eyes: Eyes, facts: FileFacts, stream: StreamFacts, name: Path | None
) -> Tools:
    """The tools, with the earlier picture of the stream's channel."""
    if eyes.references is None:
        return tools
    called = name or Path(facts.path.name)
    found = eyes.references.of_file(facts.path, called, stream.index, len(facts.streams))
    return replace(tools, reference=found, aim=True)


def _placeless(looked: Looked, file: Path) -> Looked:
    """Without the file's own path in notes: the same content may lie somewhere else."""
    findings = tuple(
        replace(finding, note=finding.note.removeprefix(f"{file}: ")) for finding in looked.findings
    )
    return replace(looked, findings=findings)


def time_limits(size_bytes: int, rate: float) -> tuple[float, float]:
    """(longest silence, longest time in all) [s] of a file of that size, read at least at
    ``rate`` [bytes/s]."""
    reading = size_bytes / rate
    return QUIET_S + reading, LIMIT_S + reading + size_bytes / LIMIT_BYTES_S
