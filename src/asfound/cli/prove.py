"""`asfound prove`: what recordings show, held against what was promised."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.helpers import EveryByteOption, FreshOption, WorkersOption, helpers
from asfound.cli.home import HomeOption, home_at
from asfound.cli.prove_clock import (
    CLOCK_LIMIT_S,
    ClockLimitOption,
    ClockNowOption,
    ClockOption,
    ClockZoneOption,
    clock_ask,
    clock_json,
)
from asfound.cli.prove_files import (
    CsvOption,
    ProofFiles,
    SheetOption,
    StripOption,
    ZoneOption,
    say_written,
)
from asfound.errors import ExitCode
from asfound.jobs.prove import Prove, prove
from asfound.jobs.prove_clock_words import clock_line
from asfound.jobs.prove_references import pictures_in
from asfound.model.finding import Expectation, Finding, Proof, ProofVerdict, Recording
from asfound.ports.backends.expect_toml import load_expectation
from asfound.units import bitrate_text, clock_text

FORMAT = "asfound-proof/1"

ReferenceOption = Annotated[
    Path | None,
    typer.Option(
        "--reference", metavar="FOLDER", help="Earlier good pictures: ch1.jpg, ch2.jpg, ..."
    ),
]

WholeOption = Annotated[
    bool,
    typer.Option("--whole", help="Decode every picture: slow, and finds damage hidden in between."),
]

SENTENCES = {
    ProofVerdict.RECORDS: ("every channel records as it should", "green"),
    ProofVerdict.FAULTS: ("there are faults", "bold red"),
    ProofVerdict.UNCLEAR: ("not everything could be judged; look at it yourself", "bold yellow"),
}


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="prove")(prove_command)


def prove_command(  # noqa: PLR0913 (an option each)
    paths: Annotated[
        list[Path],
        typer.Argument(
            metavar="PATH...", parser=wiring.place, help="Recordings, or folders of them."
        ),
    ],
    expect: Annotated[
        Path | None, typer.Option(metavar="EXPECT.toml", help="What each channel should record.")
    ] = None,
    pattern: Annotated[
        str, typer.Option(help="How files are named: {channel}_{start:%Y%m%dT%H%M%SZ}")
    ] = "",
    pictures: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Keep pictures of findings here.")
    ] = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
    strip: StripOption = None,
    sheet: SheetOption = None,
    csv: CsvOption = None,
    zone: ZoneOption = "UTC",
    clock: ClockOption = False,
    clock_zone: ClockZoneOption = "",
    clock_now: ClockNowOption = "",
    clock_limit: ClockLimitOption = CLOCK_LIMIT_S,
    reference: ReferenceOption = None,
    whole: WholeOption = False,
    workers: WorkersOption = "",
    fresh: FreshOption = False,
    every_byte: EveryByteOption = False,
    home: HomeOption = None,
) -> None:
    """Prove from the recordings themselves that each camera records.

    Exit code 0: every channel records; 1: there are faults, or something could not be judged.
    """
    expectation = load_expectation(expect) if expect is not None else Expectation()
    ask, read_clocks = clock_ask(clock, clock_zone, clock_now, clock_limit)
    earlier = pictures_in(reference) if reference is not None else ()
    now = wiring.clock().now()
    request = Prove(tuple(paths), expectation, pattern, ask, earlier, whole, now)
    files = ProofFiles(strip, sheet, csv, zone)
    files.check()
    with (
        files.pictures(pictures) as blobs,
        helpers(home_at(home), paths, workers, fresh, every_byte) as hands,
        wiring.progress("Looking at recordings") as progress,
    ):
        proof = prove(
            request,
            video=wiring.video(),
            pictures=wiring.pictures(),
            blobs=blobs,
            progress=progress,
            helpers=hands,
            ocr=wiring.ocr(1) if read_clocks else None,
        )
        written = files.write(proof, expectation, blobs)
    if json:
        output.json_out(proof_data(proof))
    else:
        show(proof)
        say_written(written)
    if proof.verdict is not ProofVerdict.RECORDS:
        raise typer.Exit(ExitCode.FINDINGS)


def proof_data(proof: Proof) -> dict[str, object]:
    """The proof in the documented form (docs/proof.md)."""
    return {
        "format": FORMAT,
        "verdict": proof.verdict.value,
        "missing_channels": list(proof.missing_channels),
        "recordings": [_recording_data(recording) for recording in proof.recordings],
    }


def _recording_data(recording: Recording) -> dict[str, object]:
    return {
        "file": recording.file,
        "channel": recording.channel,
        "codec": recording.codec,
        "width": recording.width,
        "height": recording.height,
        "rate_fps": _rounded(recording.rate_fps),
        "duration_s": _rounded(recording.duration_s),
        "bitrate_bps": _rounded(recording.bitrate_bps, 0),
        "key_interval_s": _rounded(recording.key_interval_s),
        "sound_db": _rounded(recording.sound_db, 1),
        "start": _time(recording.start),
        "findings": [_finding_data(finding) for finding in recording.findings],
        "unclear": list(recording.unclear),
        "thumbnails": [
            {"second": _rounded(second), "picture": name} for second, name in recording.thumbnails
        ],
        "clock": clock_json(recording.clock),
    }


def _finding_data(finding: Finding) -> dict[str, object]:
    return {
        "kind": finding.kind.value,
        "start_s": _rounded(finding.start_s),
        "end_s": _rounded(finding.end_s),
        "measured": _rounded(finding.measured, 6),
        "limit": finding.limit,
        "unit": finding.unit,
        "source": finding.source,
        "evidence": finding.evidence,
        "note": finding.note,
    }


def _rounded(value: float | None, places: int = 3) -> float | None:
    return None if value is None else round(value, places)


def _time(at: datetime | None) -> str | None:
    """RFC 3339 in UTC."""
    if at is None:
        return None
    text = at.astimezone(UTC).isoformat(timespec="auto")
    return text.replace("+00:00", "Z")


def show(proof: Proof) -> None:
    """The proof as a table, then every finding and doubt in a line of its own."""
    columns = ("Ch", "File", "Picture", "Rate", "Length", "Bit rate", "Start", "Shows")
    output.table(columns, [_row(recording) for recording in proof.recordings], right=(0, 3, 4, 5))
    for recording in proof.recordings:
        name = Path(recording.file).name
        for finding in recording.findings:
            at = f"{clock_text(finding.start_s)} to {clock_text(finding.end_s)}"
            output.say(f"{name}: {finding.kind.value}, {at}: {finding.note}", style="red")
        for line in recording.unclear:
            output.say(f"{name}: unclear: {line}", style="yellow")
        if recording.clock is not None:
            output.say(f"{name}: {clock_line(recording.clock)}")
    for channel in proof.missing_channels:
        output.say(f"channel {channel}: nothing was found", style="red")
    sentence, style = SENTENCES[proof.verdict]
    output.say(f"{proof.verdict.value}: {sentence}", style=style)


def _row(recording: Recording) -> tuple[str, ...]:
    kinds = sorted({finding.kind.value for finding in recording.findings})
    shows = ", ".join(kinds) or ("unclear" if recording.unclear else "records")
    rate, length, bits = recording.rate_fps, recording.duration_s, recording.bitrate_bps
    size = f"{recording.codec} {recording.width}x{recording.height}" if recording.width else "-"
    return (
        "?" if recording.channel is None else str(recording.channel),
        Path(recording.file).name,
        size,
        "-" if rate is None else f"{rate:.1f}/s",
        "-" if length is None else clock_text(length),
        "-" if bits is None else bitrate_text(bits),
        _time(recording.start) or "-",
        shows,
    )
