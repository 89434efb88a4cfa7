"""`asfound power volts`: from measured voltages to a likely cause."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

import typer

from asfound.cli import output
from asfound.cli.cautions_show import say_cautions
from asfound.errors import ExitCode, UsageError
from asfound.jobs.ask_volts import CAUTIONS, NAMES, ask_volts
from asfound.jobs.judge_volts import (
    Diagnosis,
    Judged,
    JudgeVolts,
    Seen,
    Spoken,
    Standing,
    judge_volts,
)
from asfound.model.voltage_rules import VoltageRules
from asfound.ports.backends.voltage_rules_toml import load_voltage_rules

FORMAT = "asfound-volts/1"
SHOWN = 4
"""Causes that are named beside a reading."""
STANDINGS = {
    Standing.LIKELY: "likely",
    Standing.POSSIBLE: "possible",
    Standing.HINT: "a hint",
    Standing.UNLIKELY: "unlikely",
    Standing.UNTOLD: "could not tell",
}


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="volts")(volts_command)


def volts_command(  # noqa: PLR0913 (an option each)
    readings: Annotated[
        list[str] | None,
        typer.Argument(metavar="READING=VOLTS...", help="What was measured: plug-on=23.1V."),
    ] = None,
    system: Annotated[str, typer.Option(help="The vehicle's voltage: 12V or 24V.")] = "",
    places: Annotated[bool, typer.Option("--places", help="List what can be measured.")] = False,
    meter: Annotated[str, typer.Option(help="Error of the meter.")] = "1%",
    code: Annotated[str, typer.Option(help="The recorder's code of ISO 16750-2: A to H.")] = "",
    least: Annotated[str, typer.Option(help="Or the least voltage that it takes: 9V.")] = "",
    most: Annotated[str, typer.Option(help="And the most: 36V.")] = "",
    draws: Annotated[str, typer.Option(help="What the recorder draws: 25W.")] = "",
    length: Annotated[str, typer.Option(help="Its leads, one way: 8m.")] = "",
    section: Annotated[str, typer.Option(help="Their section: 1.5mm2 or AWG16.")] = "",
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Likely causes of measured voltages, with the rules that spoke, and what to measure next."""
    rules = load_voltage_rules()
    if places:
        _places(rules)
        return
    fields = {
        "system": system, "meter": meter, "code": code, "least": least, "most": most,
        "draws": draws, "length": length, "section": section,
    }  # fmt: skip
    request = ask_volts({**_read(readings or ()), **fields}, rules)
    result = judge_volts(request, rules)
    if json:
        output.json_out(volts_data(request, result))
    else:
        _show(request, result)
    if result.found:
        raise typer.Exit(ExitCode.FINDINGS)


def _read(readings: Sequence[str]) -> dict[str, str]:
    made: dict[str, str] = {}
    for one in readings:
        name, sign, value = one.partition("=")
        name = name.strip().casefold()
        if not sign or not value.strip() or name in NAMES:
            raise UsageError(f"{one!r}: write a reading, = and its volts: plug-on=23.1V")
        if name in made:
            raise UsageError(f"{name} stands there twice; leave one out")
        made[name] = value
    return made


def volts_data(request: JudgeVolts, result: Diagnosis) -> dict[str, object]:
    """The documented form (docs/bench.md)."""
    return {
        "format": FORMAT,
        "system_v": request.system,
        "readings": dict(request.readings),
        "causes": [
            {
                "id": one.cause.id,
                "title": one.cause.title,
                "standing": one.standing,
                "weight": one.weight,
                "advice": one.cause.advice,
                "rules": [_rule_data(spoken) for spoken in one.spoken],
                "lacks": list(one.lacks),
            }
            for one in result.causes
        ],
        "next": [
            {
                "reading": one.reading.id,
                "title": one.reading.title,
                "when": one.reading.when,
                "tells_about": [cause.id for cause in one.causes],
            }
            for one in result.next
        ],
    }


def _rule_data(spoken: Spoken) -> dict[str, object]:
    rule = spoken.rule
    return {
        "id": rule.id,
        "says": rule.says,
        "weight": rule.weight,
        "within_error": spoken.doubt,
        "seen": [
            {
                "what": seen.what,
                "measured": seen.measured,
                "unit": seen.unit,
                "below": seen.below,
                "above": seen.above,
            }
            for seen in spoken.seen
        ],
        "source": rule.source,
    }


def _places(rules: VoltageRules) -> None:
    output.table(
        ("Reading", "Between what", "When"),
        [
            (one.id, one.title, f"{one.when} ({one.system} V)" if one.system else one.when)
            for one in rules.readings.values()
            if not one.given
        ],
    )


def _show(request: JudgeVolts, result: Diagnosis) -> None:
    if not result.found:
        output.say("nothing that was measured speaks for a cause", style="bold")
    for one in result.found:
        _show_cause(one)
    unlikely = [one.cause.title for one in result.causes if one.standing is Standing.UNLIKELY]
    if unlikely:
        output.say(f"unlikely: {'; '.join(unlikely)}")
    if result.untold:
        output.say(f"could not tell: {'; '.join(one.cause.title for one in result.untold)}")
    if result.next:
        output.table(
            ("Measure next", "Between what", "When", "Would tell about"),
            [
                (
                    one.reading.id, one.reading.title, one.reading.when,
                    _some([cause.title for cause in one.causes]),
                )
                for one in result.next
            ],
        )  # fmt: skip
    say_cautions(CAUTIONS)


def _some(titles: Sequence[str]) -> str:
    more = f"; and {len(titles) - SHOWN} more" if len(titles) > SHOWN else ""
    return "; ".join(titles[:SHOWN]) + more


def _show_cause(one: Judged) -> None:
    output.say(f"{STANDINGS[one.standing]}: {one.cause.title}", style="bold")
    output.table(
        ("", "Rule", "Measured", "Source"),
        [
            (
                "for" if spoken.rule.weight > 0 else "against",
                spoken.rule.says + (" (within the meter's error)" if spoken.doubt else ""),
                "; ".join(seen_text(seen) for seen in spoken.seen),
                spoken.rule.source,
            )
            for spoken in one.spoken
        ],
    )
    output.say(f"do: {one.cause.advice}")


def seen_text(seen: Seen) -> str:
    """What was measured against its limits: "plug-on 0.02 V, below 1 V"."""
    unit = " V" if seen.unit == "V" else ""
    words = f"{seen.what} {seen.measured:.3g}{unit}"
    if seen.above is not None:
        words += f", above {seen.above:g}{unit}"
    if seen.below is not None:
        words += f", below {seen.below:g}{unit}"
    return words
