"""The examples of docs/coverage.md are true: files load, the JSON has the keys that are written."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime
from pathlib import Path

from asfound.cli.coverage_show import coverage_data
from asfound.jobs.coverage import Cover, cover
from asfound.model.coverage import IgnitionLog, Period, Piece
from asfound.ports.backends.ignition_csv import load_ignition
from asfound.ports.backends.schedule_toml import load_schedule

GUIDE = (Path(__file__).parents[1] / "docs" / "coverage.md").read_text(encoding="utf-8")


def examples(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", GUIDE, re.S)


def test_both_forms_of_an_ignition_log(tmp_path: Path) -> None:
    for number, text in enumerate(examples("csv")):
        path = tmp_path / f"{number}.csv"
        path.write_text(text, encoding="utf-8")
        log = load_ignition(path)
        # 06:58:10 UTC is 07:58:10 at +01:00: both tell of the same drive.
        assert log.driven[0] == Period(
            datetime(2026, 3, 1, 6, 58, 10, tzinfo=UTC),
            datetime(2026, 3, 1, 11, 31, 44, tzinfo=UTC),
        )
        assert log.notes == ()
    assert len(examples("csv")) == 2


def test_the_schedule(tmp_path: Path) -> None:
    path = tmp_path / "schedule.toml"
    path.write_text(examples("toml")[0], encoding="utf-8")
    made = load_schedule(path)
    assert made.zone == "Europe/Madrid" and len(made.hours) == 2 and len(made.off) == 2


def test_the_json_is_what_the_example_says() -> None:
    [text] = examples("json")
    written = json.loads(text)

    def at(hour: int, minute: int = 0) -> datetime:
        return datetime(2026, 3, 1, hour, minute, tzinfo=UTC)

    log = IgnitionLog(
        (
            Period(datetime(2026, 2, 28, 6, tzinfo=UTC), datetime(2026, 2, 28, 18, tzinfo=UTC)),
            Period(at(8), at(10, 30)),
            Period(at(10, 40), at(11)),
        )
    )
    pieces = (Piece(3, "a", at(8), at(9)), Piece(3, "b", at(9, 15), at(11)))
    assert coverage_data(cover(Cover(pieces, log, at(12)))) == written
