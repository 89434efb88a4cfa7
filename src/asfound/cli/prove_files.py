"""Files that a proof is written to: strip (SVG), contact sheet (HTML), findings (CSV)."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Annotated

import typer

from asfound.calc.safe_csv import Cell, csv_text
from asfound.cli import output, wiring
from asfound.cli.save import check_output, save
from asfound.cli.times import parse_zone, utc_text
from asfound.jobs.proof_pages import ShowProof, proof_sheet, strip_svg
from asfound.model.finding import Expectation, Proof, Recording
from asfound.ports.blobs import Blobs

COLUMNS = (
    "what", "channel", "file", "kind", "from_s", "to_s", "from", "to", "measured", "limit", "unit",
    "source", "note", "evidence",
)  # fmt: skip

StripOption = Annotated[
    Path | None,
    typer.Option("--strip", metavar="FILE.svg", help="Draw channels by time with findings."),
]
SheetOption = Annotated[
    Path | None,
    typer.Option("--sheet", metavar="FILE.html", help="Write a contact sheet as one page."),
]
CsvOption = Annotated[
    Path | None, typer.Option("--csv", metavar="FILE.csv", help="Write findings and doubts.")
]
ZoneOption = Annotated[
    str, typer.Option("--zone", help="IANA time zone of the times in strip and sheet.")
]


@dataclass(frozen=True, slots=True)
class ProofFiles:
    """Where to write what; None: not at all. ``zone`` is for the times in strip and sheet."""

    strip: Path | None = None
    sheet: Path | None = None
    csv: Path | None = None
    zone: str = "UTC"

    def check(self) -> None:
        """Before the work. Raises UsageError (zone, another kind of file there), NotFound."""
        parse_zone(self.zone, "--zone")
        check_output(self.strip, b"<svg xmlns=", "a strip")
        check_output(self.sheet, b"<!DOCTYPE html>", "a page")
        check_output(self.csv, ",".join(COLUMNS).encode(), "a table of findings")

    @contextmanager
    def pictures(self, kept: Path | None) -> Iterator[Blobs | None]:
        """Where pictures go: to ``kept``, else to a folder that is gone afterwards if strip or
        sheet need them, else nowhere."""
        if kept is not None:
            yield wiring.blobs(kept)
        elif self.strip is not None or self.sheet is not None:
            with tempfile.TemporaryDirectory(prefix="asfound-") as scratch:
                yield wiring.blobs(Path(scratch))
        else:
            yield None

    def write(self, proof: Proof, expectation: Expectation, blobs: Blobs | None) -> list[Path]:
        """Write them; what was written. Raises StorageError."""
        shown = ShowProof(proof, wiring.clock().now(), expectation, self.zone)
        written = []
        if self.strip is not None and blobs is not None:
            save(self.strip, strip_svg(shown, blobs=blobs, pictures=wiring.pictures()))
            written.append(self.strip)
        if self.sheet is not None and blobs is not None:
            save(self.sheet, proof_sheet(shown, blobs=blobs, pictures=wiring.pictures()))
            written.append(self.sheet)
        if self.csv is not None:
            save(self.csv, csv_text(COLUMNS, finding_rows(proof)))
            written.append(self.csv)
        return written


def say_written(written: list[Path]) -> None:
    """A line for each file, so that nobody searches for it."""
    for path in written:
        output.say(f"wrote {path}")


def finding_rows(proof: Proof) -> Iterator[tuple[Cell, ...]]:
    """Rows under COLUMNS: every finding, every doubt (``unclear``), every channel not found."""
    for recording in proof.recordings:
        for finding in recording.findings:
            yield (
                "finding", recording.channel, recording.file, finding.kind.value,
                finding.start_s, finding.end_s, _clock(recording, finding.start_s),
                _clock(recording, finding.end_s), finding.measured, finding.limit, finding.unit,
                finding.source, finding.note, finding.evidence,
            )  # fmt: skip
        for line in recording.unclear:
            yield _bare("unclear", recording.channel, recording.file, line)
    for channel in proof.missing_channels:
        yield _bare("missing", channel, "", "nothing was found of this channel")


def _bare(what: str, channel: int | None, file: str, note: str) -> tuple[Cell, ...]:
    return (what, channel, file, *[None] * 9, note, "")


def _clock(recording: Recording, second: float) -> str:
    if recording.start is None:
        return ""
    return utc_text(recording.start + timedelta(seconds=round(second, 3)))
