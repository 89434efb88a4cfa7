"""Hours on disk in the report: never better than known, an exception once the recorder was
changed, and everything that matters on the page. Expected words follow from DESIGN rule 1."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pypdfium2
import pytest

from asfound.jobs.coverage import Cover, cover
from asfound.jobs.report import make_report, report_data
from asfound.jobs.report_record import document_time
from asfound.jobs.report_verdict import verdict_data
from asfound.jobs.visit_fold import changes_done
from asfound.model.coverage import IgnitionLog, Period, Piece
from asfound.model.visit import CoverageTaken, VisitState
from asfound.ports.backends.pdf_typst import TypstPdf

HOUR = timedelta(hours=1)
ASK = "Are the expected hours on disk?"


def with_hours(state: VisitState, *pieces: tuple[int, float, float], **more: Any) -> VisitState:
    """Ten hours driven until opening; pieces are (channel, from, to) in hours after their start.
    ``earlier``: so many changes to the recorder came after the count."""
    start = state.opened_at - 10 * HOUR
    placed = [Piece(n, f"{n}.mp4", start + a * HOUR, start + b * HOUR) for n, a, b in pieces]
    made = cover(
        Cover(
            (*placed, *more.get("lines", ())),
            IgnitionLog((Period(start, state.opened_at),)),
            state.opened_at,
            days=more.get("days"),
            request=more.get("request"),
        )
    )
    changes = changes_done(state) - more.get("earlier", 0)
    at = more.get("at", state.opened_at)
    taken = CoverageTaken(made, "ignition", "log *1*.csv", ("/media/drive",), "Ada", at, changes)
    return replace(state, coverage=(*state.coverage, taken))


def point(state: VisitState) -> tuple[str, str]:
    made: Any = verdict_data(state, tuple(range(1, 9)))
    [(tone, answer)] = [(p["tone"], p["answer"]) for p in made["points"] if p["question"] == ASK]
    return tone, answer


def test_without_a_count_nothing_is_claimed(scene: Any) -> None:
    made: Any = verdict_data(scene.state, (1,))
    assert ASK not in {p["question"] for p in made["points"]}


def test_all_hours_are_good_and_say_the_days_kept(scene: Any) -> None:
    tone, answer = point(with_hours(scene.state, (1, 0, 10), (2, 0, 10)))
    # 10 hours are 0.4 days.
    assert (tone, answer) == ("good", "Yes: 0.4 days or more are kept on each channel.")


@pytest.mark.parametrize(("earlier", "tone"), [(0, "bad"), (1, "note")])
def test_holes_are_bad_and_an_exception_once_the_recorder_was_changed(
    scene: Any, earlier: int, tone: str
) -> None:
    said = point(with_hours(scene.state, (1, 0, 10), (2, 0, 4), (2, 6, 10), earlier=earlier))
    assert said[0] == tone and said[1].startswith("No: camera 2 has 80.0 %.")
    assert ("before the recorder was changed" in said[1]) is bool(earlier)


@pytest.mark.parametrize("earlier", [0, 1])
def test_what_could_not_be_placed_never_counts_as_fine(scene: Any, earlier: int) -> None:
    state = with_hours(scene.state, (1, 0, 10), lines=("x.mp4: no start",), earlier=earlier)
    assert point(state)[0] == "unclear"
    assert verdict_data(state, (1,))["tone"] != "good"


def test_fewer_days_than_promised_are_said(scene: Any) -> None:
    tone, answer = point(with_hours(scene.state, (1, 0, 10), (2, 5, 10), days=14))
    assert tone == "bad" and "fewer than 14 days are kept on camera 2" in answer


def test_the_page_has_period_shares_days_holes_request_and_doubts(scene: Any) -> None:
    opened = scene.state.opened_at
    wanted = Period(opened - 6.5 * HOUR, opened - 5.5 * HOUR)
    state = with_hours(
        scene.state, (1, 0, 10), (2, 0, 4), (2, 6, 10), days=14, request=wanted,
        lines=("x#1.mp4: no start",),
    )  # fmt: skip
    part = scene.but(coverage=state.coverage)
    made = make_report(part.request, pdf=TypstPdf(), blobs=part.blobs, pictures=part.pictures)
    document = pypdfium2.PdfDocument(made.pdf)
    texts = []
    for page in document:
        text = page.get_textpage()
        texts.append(text.get_text_range())
        text.close()
        page.close()
    document.close()
    told = " ".join(" ".join(texts).split()).replace("\u00a0", " ")
    for needle in (
        "Hours on disk", "Hours that were expected are not on disk", "log *1*.csv",
        "14 days were promised", "*.csv; holes of up to 60 s are let pass", "80.0 %",
        "100.0 %", "Missing on camera 2", "2 h 00 min",
        "Footage asked for:", "in 1 file", "x#1.mp4: no start", "/media/drive",
        # The window: the last 14 days before 24 November, 20:58.
        "From 10 Nov 2026, 20:58 +00:00 to 24 Nov 2026, 20:58 +00:00",
    ):  # fmt: skip
        assert needle in told, needle


def test_a_long_list_of_holes_is_cut_and_counted(scene: Any) -> None:
    pieces = [(1, n / 10, n / 10 + 0.05) for n in range(60)]
    part = scene.but(coverage=with_hours(scene.state, *pieces).coverage)
    data, _ = report_data(part.request, blobs=part.blobs, pictures=part.pictures)
    rows: Any = data["coverage"]
    lines = rows[0]["holes"][0]["lines"]
    assert len(lines) == 21 and lines[-1] == "and 40 more holes"


def test_a_count_is_a_moment_of_the_document(scene: Any) -> None:
    late = scene.state.opened_at + timedelta(days=3)
    state = replace(with_hours(scene.state, (1, 0, 10), at=late), closed_at=None)
    assert document_time(state) == late
