"""Schedules: read, and every mistake with file, line and field."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from asfound.errors import InputError
from asfound.model.coverage import Hours, Schedule
from asfound.ports.backends.schedule_toml import load_schedule

HEAD = 'format = "asfound-schedule/1"\nzone = "Europe/Madrid"\n'


def load(folder: Path, text: str) -> Schedule:
    path = folder / "schedule.toml"
    path.write_text(text, encoding="utf-8")
    return load_schedule(path)


def test_a_schedule_is_read(tmp_path: Path) -> None:
    made = load(
        tmp_path,
        HEAD
        + 'off = [2026-12-25]\n[[hours]]\ndays = ["sat", "mon"]\nfrom = "22:00"\nto = "06:00"\n'
        '[[hours]]\ndays = ["sun"]\nfrom = "00:00"\nto = "24:00"\n',
    )
    assert made == Schedule(
        "Europe/Madrid",
        (Hours((0, 5), 1320, 360), Hours((6,), 0, 1440)),
        (date(2026, 12, 25),),
    )


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (HEAD, "hours: is missing"),
        (HEAD.replace("Europe/Madrid", "Middle/Earth")
         + '[[hours]]\ndays = ["mon"]\nfrom = "05:00"\nto = "06:00"\n', r":2: zone: .*IANA"),
        (HEAD + '[[hours]]\ndays = ["mon"]\nfrom = "5:00"\nto = "06:00"\n', r":5: hours.*from"),
        (HEAD + '[[hours]]\ndays = ["mon"]\nfrom = "24:00"\nto = "06:00"\n', "begins nothing"),
        (HEAD + '[[hours]]\ndays = ["Montag"]\nfrom = "05:00"\nto = "06:00"\n', r":4: hours"),
        (HEAD + '[[hours]]\ndays = []\nfrom = "05:00"\nto = "06:00"\n', r":4: hours"),
        (HEAD + 'of = 3\n[[hours]]\ndays = ["mon"]\nfrom = "05:00"\nto = "06:00"\n', "'off'"),
    ],
)  # fmt: skip
def test_mistakes_are_told_with_their_place(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        load(tmp_path, text)
