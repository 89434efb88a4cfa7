"""The reliability diagram is drawn from stored pairs, and legible on light and dark pages."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from reliability import INK, PALE, diagram, rows, stored_pairs


def test_a_diagram_of_two_severities() -> None:
    cell = {"confidence pairs": [[0.95, True]] * 19 + [[0.95, False], [0.5, True]]}
    results: dict[str, object] = {"sets": {"test": {"clean": cell, "hard": cell, "none": {}}}}
    pairs = stored_pairs(results)
    assert list(pairs) == ["clean", "hard"] and len(pairs["clean"]) == 21
    made = rows(pairs)
    assert [(row["values"], row["right"]) for row in made] == [(1, 1.0), (20, 0.95)] * 2
    drawn = diagram(pairs)
    ET.fromstring(drawn)
    for text in ("clean: 21 values", "hard: 21 values", "stated confidence", INK, PALE):
        assert text in drawn


def test_without_pairs_it_says_what_to_run() -> None:
    with pytest.raises(SystemExit, match=r"benchmarks/read\.py"):
        stored_pairs({"sets": {"test": {"clean": {}}}})
