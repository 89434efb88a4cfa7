"""The paper in a bag of evidence: what it says, and that it is one for keeping."""

from __future__ import annotations

import io
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.evidence_kit import KEY, Minutes, verify
from tests.pdf_traits import check_traits

from asfound.jobs.evidence_about import MOST_LINES, MOST_ROWS, TEMPLATE, about_data
from asfound.jobs.evidence_copy import CopyEvidence, Desk, copy_evidence, offset_text
from asfound.ports.backends.bag_disk import DiskNewBag
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.pdf_typst import TypstPdf
from asfound.ports.backends.signatures_ed25519 import Ed25519

AT = datetime(2026, 11, 20, 19, tzinfo=UTC)
PUBLIC = "3d40" * 16


def utc(at: datetime) -> str:
    return at.isoformat(timespec="seconds").replace("+00:00", "Z")


def record(
    count: int = 1,
    offset_s: float | None = 258.0,
    *,
    name: str = "ch1.mp4",
    left: int = 0,
    **more: object,
) -> dict[str, Any]:
    start = datetime(2026, 11, 20, 8, tzinfo=UTC)
    held = {"channel": 2, "start": utc(start), "end": utc(start + timedelta(minutes=10))}
    one = {"path": f"data/{name}", "bytes": 3, "sha256": "ba7816bf" * 8, "channels": [held]}
    custody = {"who": "Rosa Lint", "when": utc(AT), "why": "claim 12", "what": "copied"}
    made: dict[str, Any] = {
        "vehicle": "217", "from": utc(start), "until": utc(start + timedelta(hours=1)),
        "everything": False, "offset_s": offset_s, "offset": offset_text(offset_s),
        "custody": [custody, custody], "left_out": [f"x{at}.mp4: no time" for at in range(left)],
        "files": [one] * count,
    }  # fmt: skip
    return made | more


def text_of(data: dict[str, object]) -> tuple[str, int]:
    pdf = TypstPdf().compile(TEMPLATE, data, {}, AT)
    check_traits(pdf)
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    return text.replace("\u200b", ""), len(reader.pages)


def test_it_says_what_was_asked_and_how_to_check_it() -> None:
    text, pages = text_of(about_data(record(), PUBLIC))
    assert pages == 1
    # Recorder 08:04:18, true 08:00:00: +4 min 18 s, fast (by hand).
    for says in (
        "Vehicle 217", "claim 12", "Rosa Lint", "2026-11-20 08:00:00 UTC until 2026-11-20 09:00",
        "4 min 18 s fast", "2026-11-20 08:04:18", "ch1.mp4", "0.003 kB", "ba7816bfba7816bf",
        "sha256sum -c manifest-sha256.txt", "asfound verify", PUBLIC, "does not prove",
        "personal data", "Nothing that may belong",
    ):  # fmt: skip
        assert says in text, says


@pytest.mark.parametrize(
    ("offset_s", "says", "not_said"),
    [
        (None, "Nobody compared", "It was really"),
        (0.0, "was right", "It was really"),
        (-90.5, "07:58:29.5", "fast"),
    ],
)
def test_the_clock(offset_s: float | None, says: str, not_said: str) -> None:
    text, _ = text_of(about_data(record(offset_s=offset_s), PUBLIC))
    assert says in text and not_said not in text


def test_many_long_and_odd_names_stay_on_the_paper() -> None:
    odd = "very_long_" * 20 + "Überl \u202e 中 [#1] *x* $y$ \U0001f600.mp4"
    text, pages = text_of(about_data(record(40, name=odd, left=3), PUBLIC))
    assert pages <= 6 and "⟨U+202E⟩" in text and "[#1] *x* $y$" in text
    assert "These files were not copied" in text and "x2.mp4: no time" in text


def test_of_very_many_the_rest_is_counted() -> None:
    data = about_data(record(MOST_ROWS + 5, left=MOST_LINES + 2), PUBLIC)
    assert data["more"] == "and 5 more recordings; all of them are in evidence.json"
    assert data["left_more"] == "and 2 more files; all of them are in evidence.json"


def test_an_unknown_channel_or_time_is_said() -> None:
    made = record()
    made["files"] = [
        {**made["files"][0], "channels": []},
        {**made["files"][0], "channels": [{**made["files"][0]["channels"][0], "channel": None}]},
    ]
    text, _ = text_of(about_data(made, PUBLIC))
    assert text.count("unknown") == 3


@given(st.floats(-1e9, 1e9), st.text(max_size=30), st.text(max_size=30))
def test_any_record_can_be_told(offset_s: float, vehicle: str, name: str) -> None:
    data = about_data(record(offset_s=offset_s, name=name, vehicle=vehicle), PUBLIC)
    assert json.loads(json.dumps(data)) == data
    shown = data["example"]
    if offset_s and isinstance(shown, dict) and abs(offset_s) < 1e6:
        at = datetime.fromisoformat(shown["shown"]).replace(tzinfo=UTC)
        true = datetime(2026, 11, 20, 8, tzinfo=UTC)
        assert abs((at - true).total_seconds() - offset_s) < 0.0011


def test_it_lies_in_the_bag_and_under_its_signature(tmp_path: Path) -> None:
    folder = tmp_path / "drive"
    folder.mkdir()
    (folder / "ch2-10.mp4").write_bytes(b"abc")
    start = datetime(2026, 11, 20, 8, tzinfo=UTC)
    ask = CopyEvidence(
        (folder,), "217", start, start + timedelta(hours=1), "A. Tester", "claim 12", 258.0, True
    )
    desk = Desk(Minutes(), Ed25519(), SystemClock(), TypstPdf())
    copy_evidence(ask, KEY, bag=DiskNewBag(tmp_path / "bag"), desk=desk)
    paper = tmp_path / "bag" / "about.pdf"
    text = pypdf.PdfReader(paper).pages[0].extract_text().replace("\u200b", "")
    # FIPS 180-4, example "abc".
    assert "ba7816bf8f01cfea" in text and KEY.public.hex() in text
    assert not verify(tmp_path / "bag", KEY.public).faults
    paper.write_bytes(paper.read_bytes().replace(b"%PDF-1.7", b"%PDF-1.6"))
    assert [str(one.kind) for one in verify(tmp_path / "bag").faults] == ["changed"]
