"""Strip and contact sheet: whole, without anything from outside, and safe with hostile names."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from asfound.errors import InputError
from asfound.jobs import proof_cards, proof_pages
from asfound.jobs.proof_pages import ShowProof, proof_sheet, strip_svg
from asfound.model.burned_clock import BurnedClock, ClockState
from asfound.model.finding import (
    Expectation,
    ExpectedChannel,
    Finding,
    Kind,
    Proof,
    ProofVerdict,
    Recording,
)
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.pictures_pillow import PillowPictures

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
SVG = "{http://www.w3.org/2000/svg}"
HREF = "href"
PICTURES = PillowPictures()


@dataclass
class Page(HTMLParser):
    """What a page shows and what it would fetch."""

    text: str = ""
    wanted: list[str] = field(default_factory=list)
    tags: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.wanted += [value or "" for name, value in attrs if name in ("src", "href")]

    def handle_data(self, data: str) -> None:
        self.text += data


def read(html: str) -> Page:
    page = Page()
    page.feed(html)
    return page


@pytest.fixture
def blobs(tmp_path: Path) -> FileBlobs:
    return FileBlobs(tmp_path / "pictures")


def picture(blobs: FileBlobs, grey: int) -> str:
    return blobs.put(PICTURES.encode_jpeg(np.full((90, 160, 3), grey, np.uint8)))


def proof(blobs: FileBlobs, name: str = "ch1.mp4") -> Proof:
    shots = tuple((float(second), picture(blobs, 40 + second)) for second in (5, 30, 55))
    black = Finding(
        Kind.BLACK, 10, 20, 1.0, 0.98, "1", "FFmpeg", picture(blobs, 9), "it is <b>dark"
    )
    size = Finding(Kind.WRONG_SIZE, 0, 60, 1.0, 2.0, "px", "expectation", "", "too small")
    first = Recording(f"/media/drive/{name}", 1, "h264", 640, 360, 12.0, 60.0, 1e6, START,
                      (black, size), ("too dark to judge focus",), shots)  # fmt: skip
    second = replace(first, file="/media/drive/ch2.mp4", channel=2, findings=(), unclear=(),
                     start=START + timedelta(seconds=30))  # fmt: skip
    nothing = Finding(Kind.EMPTY, 0, 0, None, None, "", "decoder", "", "no bytes")
    name = "/media/drive/ch3.mp4"
    empty = Recording(name, 3, "", 0, 0, None, None, None, None, (nothing,))
    return Proof(ProofVerdict.FAULTS, (first, second, empty), (4,))


def shown(made: Proof, zone: str = "Europe/Madrid") -> ShowProof:
    names = Expectation((ExpectedChannel(1, "Road & <ahead>"), ExpectedChannel(4, "Rear")))
    return ShowProof(made, START, names, zone)


def test_the_strip_is_an_svg_with_everything_inside(blobs: FileBlobs) -> None:
    text = strip_svg(shown(proof(blobs)), blobs=blobs, pictures=PICTURES)
    root = ElementTree.fromstring(text)
    width, height = (float(part) for part in root.attrib["viewBox"].split()[2:])
    images = root.findall(f".//{SVG}image")
    assert len(images) == 6
    assert all(image.attrib[HREF].startswith("data:image/jpeg;base64,") for image in images)
    assert not root.findall(f".//{SVG}script")
    for rect in root.iter(f"{SVG}rect"):
        x, y = float(rect.attrib.get("x", 0)), float(rect.attrib.get("y", 0))
        assert 0 <= x <= width and 0 <= y <= height
    words = "".join(root.itertext())
    # 08:00 UTC is 09:00 in Spain in winter (IANA time zone database).
    assert "09:00:00 to 09:01:30 (+01:00)" in words
    assert "black picture" in words and "wrong picture size" in words
    assert "Nothing was found of channel 4" in words
    assert "1 recording without a length is not drawn" in words


def test_what_came_of_burned_in_clocks_is_shown(blobs: FileBlobs) -> None:
    clock = BurnedClock(
        ClockState.RUNS, "2026-03-01 08:00:03", (10, 8, 200, 24), 28_803.5, 0.5,
        (date(2026, 3, 1),), 8, 8, 1.0, offset_s=3.25, against="the file's start in UTC",
        notes=("5 & 6 <alike>",),
    )  # fmt: skip
    bare = proof(blobs)
    first, second, third = bare.recordings
    doubtful = replace(clock, state=ClockState.DOUBTFUL, offset_s=None)
    clocked = replace(
        bare, recordings=(replace(first, clock=clock), replace(second, clock=doubtful), third)
    )
    text = strip_svg(shown(clocked), blobs=blobs, pictures=PICTURES)
    root = ElementTree.fromstring(text)
    height = float(root.attrib["viewBox"].split()[3])
    words = {"".join(item.itertext()): item for item in root.iter(f"{SVG}text")}
    for word in ("clock within 4 s", "clock unclear"):
        assert 0 < float(words[word].attrib["y"]) < height - 8
    page = read(proof_sheet(shown(clocked), blobs=blobs, pictures=PICTURES))
    assert (
        "Burned-in clock: runs, 2026-03-01 08:00:03 at the start (± 0.5 s); 0:03 fast" in page.text
    )
    assert "5 & 6 <alike>" in page.text and "Burned-in clock: cannot be read for sure" in page.text
    without = read(proof_sheet(shown(bare), blobs=blobs, pictures=PICTURES)).text
    assert "urned-in clock" not in without
    assert "clock" not in strip_svg(shown(bare), blobs=blobs, pictures=PICTURES).lower()


def test_the_finding_is_to_scale(blobs: FileBlobs) -> None:
    root = ElementTree.fromstring(strip_svg(shown(proof(blobs)), blobs=blobs, pictures=PICTURES))
    [bar] = [item for item in root.iter(f"{SVG}rect") if item.get("class") == "mark"]
    # 10 s to 20 s of an axis of 90 s that is 150 mm long: straight-line arithmetic.
    assert float(bar.attrib["x"]) == pytest.approx(10 / 90 * 150, abs=0.006)
    assert float(bar.attrib["width"]) == pytest.approx(10 / 90 * 150, abs=0.006)


def test_the_sheet_shows_all_and_fetches_nothing(blobs: FileBlobs) -> None:
    page = read(proof_sheet(shown(proof(blobs)), blobs=blobs, pictures=PICTURES))
    assert all(want.startswith(("data:image/jpeg;base64,", "#")) for want in page.wanted)
    assert "script" not in page.tags and "link" not in page.tags
    for words in (
        "There are faults.", "Nothing was found of channel 4.", "it is <b>dark", "too small",
        "too dark to judge focus", "Road & <ahead>", "no recording found", "/media/drive",
        "nothing could be measured", "09:00:10 to 09:00:20", "FFmpeg",
    ):  # fmt: skip
        assert words in page.text, words


def test_every_picture_that_is_pointed_to_is_there(blobs: FileBlobs) -> None:
    html = proof_sheet(shown(proof(blobs)), blobs=blobs, pictures=PICTURES)
    defined = set(re.findall(r'<symbol id="([^"]+)"', html))
    pointed = set(re.findall(r'<use href="#([^"]+)"', html))
    assert pointed == defined and len(defined) == 3, "the same picture is inside once"


@pytest.mark.parametrize("name", ["<script>alert(1)</script>.mp4", '"onload="x.mp4', "a&b;c.mp4"])
def test_hostile_names_are_only_text(blobs: FileBlobs, name: str) -> None:
    made = proof(blobs, name)
    made = replace(made, recordings=(replace(made.recordings[0], channel=None),))
    page = read(proof_sheet(shown(made), blobs=blobs, pictures=PICTURES))
    assert "script" not in page.tags
    assert name.rpartition("/")[2] in page.text
    ElementTree.fromstring(strip_svg(shown(made), blobs=blobs, pictures=PICTURES))


def test_a_picture_that_is_gone_is_said(blobs: FileBlobs, tmp_path: Path) -> None:
    made = proof(blobs)
    bare = FileBlobs(tmp_path / "other")
    page = read(proof_sheet(shown(made), blobs=bare, pictures=PICTURES))
    assert "is missing from the store" in page.text
    ElementTree.fromstring(strip_svg(shown(made), blobs=bare, pictures=PICTURES))


def test_nothing_at_all(blobs: FileBlobs) -> None:
    nothing = Proof(ProofVerdict.UNCLEAR, ())
    page = read(proof_sheet(shown(nothing), blobs=blobs, pictures=PICTURES))
    assert "There is no recording to show." in page.text
    assert "Nothing was found wrong." in page.text and "Nothing can be drawn" in page.text
    words = "".join(
        ElementTree.fromstring(strip_svg(shown(nothing), blobs=blobs, pictures=PICTURES)).itertext()
    )
    assert "No recording could be drawn" in words


def test_a_zone_that_is_none(blobs: FileBlobs) -> None:
    with pytest.raises(InputError, match="IANA"):
        strip_svg(shown(proof(blobs), "Middle/Earth"), blobs=blobs, pictures=PICTURES)


def test_too_many_for_one_page_are_counted(
    blobs: FileBlobs, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(proof_cards, "MOST_CARDS", 3)
    monkeypatch.setattr(proof_pages, "MOST_EVIDENCE", 0)
    page = read(proof_sheet(shown(proof(blobs)), blobs=blobs, pictures=PICTURES))
    # Three recordings and a channel that is missing: the sound one is left out.
    assert "1 more are not shown here" in page.text and "ch2.mp4" not in page.text
    assert "Pictures of 1 more findings are left out" in page.text


def test_an_axis_of_days_names_the_days(blobs: FileBlobs) -> None:
    made = proof(blobs)
    pieces = [
        replace(made.recordings[1], file=f"{n}.mp4", start=START + timedelta(days=n),
                duration_s=86400.0)
        for n in range(6)
    ]  # fmt: skip
    text = strip_svg(shown(replace(made, recordings=tuple(pieces))), blobs=blobs, pictures=PICTURES)
    words = "".join(ElementTree.fromstring(text).itertext()).replace("\u00a0", " ")
    assert "2 Mar" in words and "4 Mar" in words and "00:00\n" not in words
