"""`asfound days`: how many days a drive keeps, what it takes for the days that were promised."""

from __future__ import annotations

import json as json_text
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

from asfound.calc.days_kept import Band
from asfound.cli import output
from asfound.cli.plot_file import PlotFile, plot_form, write_plot
from asfound.errors import ExitCode, InputError, NotFound, UsageError
from asfound.jobs.ask_storage import FILE_SYSTEM, NAMES, SPREAD, ask_storage
from asfound.jobs.plot_storage import plot_storage
from asfound.jobs.size_storage import Measured, SizeStorage, Storage, size_storage
from asfound.units import GIB, TIB, bytes_text

FORMAT = "asfound-days/1"
PROOF = "asfound-proof/1"
MOST_PROOF_BYTES = 64 << 20
NOW = "now"
"""What the case that was typed is called beside others."""


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="days")(days_command)


def days_command(  # noqa: PLR0913 (an option each)
    drive: Annotated[str, typer.Option(help="The drive as its label says: 1TB, 480GB.")],
    hours: Annotated[str, typer.Option(help="Hours a day that it records, run-on and all.")] = "",
    ignition: Annotated[
        str,
        typer.Option(help="Instead of hours, when the ignition is on: 05:30-13:00, 15:00-23:30."),
    ] = "",
    run_on: Annotated[str, typer.Option(help="How long it records after each: 30min.")] = "",
    week: Annotated[str, typer.Option(metavar="DAYS", help="Days a week that it drives.")] = "7",
    channels: Annotated[
        list[str] | None,
        typer.Option(metavar="NxRATE", help="Channels and their rate: 4x2Mbit/s. May be repeated."),
    ] = None,
    proof: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Measured rates: what `asfound prove --json` printed."),
    ] = None,
    audio: Annotated[str, typer.Option(help="Sound of each, unless measured: 64kbit/s.")] = "",
    reserve: Annotated[str, typer.Option(help="Kept for events: 50GB or 10%.")] = "0%",
    events: Annotated[str, typer.Option(help="Events a day that fill the reserve: 3.")] = "",
    event_length: Annotated[str, typer.Option(help="Length of each, all of it: 90s.")] = "",
    file_system: Annotated[str, typer.Option(help="What its tables take.")] = FILE_SYSTEM,
    spread: Annotated[str, typer.Option(help="How far rates lie either way.")] = SPREAD,
    promised: Annotated[str, typer.Option(metavar="DAYS", help="So many were promised.")] = "",
    lawful: Annotated[str, typer.Option(metavar="DAYS", help="Older ones must go.")] = "",
    what_if: Annotated[
        list[str] | None,
        typer.Option(
            metavar="CHANGES", help="Side by side: 'drive=2TB; hours=10'. May be repeated."
        ),
    ] = None,
    plot: PlotFile = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Days that a drive keeps before it overwrites them, as a band from bad weeks to good ones."""
    if bool(channels) == (proof is not None):
        raise UsageError("say --channels 4x2Mbit/s, or --proof FILE with measured rates")
    plot_form(plot)
    fields = {
        "drive": drive, "hours": hours, "ignition": ignition, "run_on": run_on, "week": week,
        "channels": ", ".join(channels or ()), "audio": audio, "reserve": reserve,
        "events": events, "event_length": event_length, "file_system": file_system,
        "spread": spread, "promised": promised, "lawful": lawful,
    }  # fmt: skip
    measured = () if proof is None else tuple(measured_in(proof))
    cases = [(NOW, ask_storage(fields, measured))]
    for changes in what_if or ():
        cases.append((changes, ask_storage(_changed(fields, changes), measured)))
    results = [size_storage(request) for _, request in cases]
    if json:
        output.json_out(_all_data(cases, results))
    else:
        _show(cases[0][1], results[0], measured=proof is not None)
        _beside(cases, results)
        _advise(results[0], cases[0][1].promised_days)
    write_plot(plot_storage(cases), plot)
    if results[0].findings:
        raise typer.Exit(ExitCode.FINDINGS)


def _all_data(
    cases: Sequence[tuple[str, SizeStorage]], results: Sequence[Storage]
) -> dict[str, object]:
    """The first case, with the others below it."""
    others = [
        {"what_if": name, **days_data(request, result)}
        for (name, request), result in zip(cases[1:], results[1:], strict=True)
    ]
    return {**days_data(cases[0][1], results[0]), "what_if": others}


def _changed(fields: Mapping[str, str], changes: str) -> dict[str, str]:
    """``fields`` with some changed: "drive=2TB; hours=10". Hours take ignition times' place and the
    other way round."""
    made = dict(fields)
    for part in filter(None, (part.strip() for part in changes.split(";"))):
        name, sign, value = part.partition("=")
        name = name.strip().replace("-", "_")
        if not sign or name not in NAMES:
            raise UsageError(
                f"--what-if {part!r}: write a name, = and a value; the names are {', '.join(NAMES)}"
            )
        made[name] = value.strip()
        if name in ("hours", "ignition"):
            made["ignition" if name == "hours" else "hours"] = ""
        if name == "hours":
            made["run_on"] = ""
    return made


def measured_in(path: Path) -> list[Measured]:
    """Rates in a proof. Raises NotFound, InputError."""
    try:
        if path.stat().st_size > MOST_PROOF_BYTES:
            raise InputError(
                f"{path}: larger than any proof; give what `asfound prove --json` wrote"
            )
        data = json_text.loads(path.read_text("utf-8"))
    except (FileNotFoundError, IsADirectoryError):
        raise NotFound(f"{path}: no such file; give what `asfound prove --json` wrote") from None
    except (OSError, ValueError):
        raise InputError(f"{path}: not readable as JSON; write it with --json") from None
    if not isinstance(data, dict) or data.get("format") != PROOF:
        raise InputError(f"{path}: not a proof ({PROOF}); write it with `asfound prove --json`")
    found = [_of_recording(item) for item in data.get("recordings") or ()]
    rates = [one for one in found if one is not None]
    if not rates:
        raise InputError(f"{path}: no recording in it has a channel, a length and a rate")
    return rates


def _of_recording(item: Any) -> Measured | None:
    if not isinstance(item, dict):
        return None
    channel, seconds, rate = item.get("channel"), item.get("duration_s"), item.get("bitrate_bps")
    if not (isinstance(channel, int) and isinstance(seconds, int | float) and seconds > 0):
        return None
    if not isinstance(rate, int | float) or not 0 < rate < 1e12:
        return None
    return Measured(channel, float(seconds), float(rate))


def days_data(request: SizeStorage, result: Storage) -> dict[str, object]:
    """The documented form (docs/bench.md)."""
    return {
        "format": FORMAT,
        "drive_bytes": request.room.drive_bytes,
        "usable_bytes": result.usable_bytes,
        "days_a_week": request.days_a_week,
        "loads": [
            {
                "channels": load.channels,
                "hours_a_day": load.hours_a_day,
                "rate_bps": _band(load.rate),
                "audio_bps": load.audio_bps,
            }
            for load in request.loads
        ],
        "bytes_a_day": _band(result.bytes_a_day),
        "days": _band(result.days),
        "event_days": result.event_days and _band(result.event_days),
        "drive_bytes_for_promise": result.drive_bytes and _band(result.drive_bytes),
        "rate_share_for_promise": result.rate_share and _band(result.rate_share),
        "findings": [
            {"kind": one.kind, "measured": one.measured, "limit": one.limit, "note": one.note}
            for one in result.findings
        ],
    }


def _band(band: Band) -> list[float]:
    return [band.low, band.likely, band.high]


def _show(request: SizeStorage, result: Storage, measured: bool) -> None:
    room = request.room
    output.table(
        ("Channels", "Mbit/s each", "from", "to", "Sound", "Hours a day"),
        [
            (
                str(load.channels), f"{load.rate.likely / 1e6:.3f}", f"{load.rate.low / 1e6:.3f}",
                f"{load.rate.high / 1e6:.3f}",
                "in it" if measured else f"{load.audio_bps / 1e3:.0f} kbit/s",
                f"{load.hours_a_day:.4g}",
            )
            for load in request.loads
        ],
        right=(0, 1, 2, 3, 4, 5),
    )  # fmt: skip
    output.say(
        f"drive {bytes_text(room.drive_bytes)} (a computer shows {_binary(room.drive_bytes)}), "
        f"{bytes_text(result.usable_bytes)} of it overwritten in turn"
    )
    output.say(f"written a day {_spread(result.bytes_a_day, bytes_text)}")
    output.say(f"days kept {_spread(result.days, _days)}", style="bold")
    if result.event_days is not None:
        kept = _spread(result.event_days, _days)
        output.say(f"days of events kept {kept}; later ones find no room")


def _beside(cases: Sequence[tuple[str, SizeStorage]], results: Sequence[Storage]) -> None:
    if len(cases) < 2:
        return
    output.table(
        ("What if", "Days kept", "from", "to", "Written a day", "Found"),
        [
            (
                name, _days(result.days.likely), _days(result.days.low), _days(result.days.high),
                bytes_text(result.bytes_a_day.likely),
                "; ".join(one.kind for one in result.findings) or "nothing",
            )
            for (name, _), result in zip(cases, results, strict=True)
        ],
        right=(1, 2, 3, 4),
    )  # fmt: skip


def _days(days: float) -> str:
    return f"{days:.1f}"


def _advise(result: Storage, promised: float | None) -> None:
    drive, share = result.drive_bytes, result.rate_share
    if promised is not None and drive is not None and share is not None:
        output.say(
            f"for {promised:g} days: a drive of {bytes_text(drive.high)} to be safe "
            f"({bytes_text(drive.likely)} on average), or picture rates at {share.low:.0%} "
            f"({share.likely:.0%}) of these"
        )
    for one in result.findings:
        output.say(f"{one.kind}: {one.note}")


def _binary(size: float) -> str:
    return f"{size / TIB:.2f} TiB" if size >= TIB else f"{size / GIB:.0f} GiB"


def _spread(band: Band, text: Callable[[float], str]) -> str:
    return f"{text(band.likely)} (from {text(band.low)} to {text(band.high)})"
