"""Which photographs are worth taking again, in words and as JSON."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from asfound.cli import output
from asfound.jobs.retakes import retakes
from asfound.model.menu_map import MenuMap
from asfound.model.reading import Reading
from asfound.model.retake import Retake


def show_retakes(reading: Reading, menu_map: MenuMap, settled: Collection[str] = ()) -> int:
    """One line a page to photograph again, before any doubt is typed; returns how many."""
    made = retakes(reading, menu_map, settled)
    if made:
        output.say("photograph again, before settling by hand:", style="bold yellow")
    for one in made:
        output.say(f"  {retake_line(one)}")
    return len(made)


def retake_line(one: Retake) -> str:
    """E.g. "page 4 of 22, Clock and region, row 3 Time zone: glare; step to the left"."""
    causes = ", ".join(one.causes)
    todo = "; ".join(one.hints)
    if one.page is None:
        return f"{Path(one.file).name} shows no page: {causes}; {todo}"
    rows = ", ".join(f"row {row} {label}" for _, row, label, _ in one.rows)
    return f"page {one.number} of {one.pages}, {one.title}, {rows}: {causes}; {todo}"


def retake_json(reading: Reading, menu_map: MenuMap) -> list[dict[str, object]]:
    """The key "retake" of asfound-reading/1 (docs/reading.md)."""
    return [
        {
            "page": one.page,
            "title": one.title,
            "number": one.number,
            "pages": one.pages,
            "file": one.file,
            "settles": len(one.rows),
            "rows": [
                {"id": name, "row": row, "label": label, "cause": cause.value}
                for name, row, label, cause in one.rows
            ],
            "causes": [cause.value for cause in one.causes],
            "hints": list(one.hints),
        }
        for one in retakes(reading, menu_map)
    ]
