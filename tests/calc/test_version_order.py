"""Orders of versions against published lists and other libraries."""

from __future__ import annotations

import random
from datetime import date
from itertools import pairwise

import natsort
import pytest
import semver
from hypothesis import given
from hypothesis import strategies as st
from packaging.version import Version

from asfound.calc.version_order import LONGEST, pattern_fault, version_key
from asfound.model.firmware import OrderKind, PartKind, VersionPart, VersionScheme

SEMVER = VersionScheme("semver", OrderKind.SEMVER)
DOTTED = VersionScheme("dotted", OrderKind.DOTTED)
YMD = VersionScheme("date-ymd", OrderKind.DATE_YMD)
DMY = VersionScheme("date-dmy", OrderKind.DATE_DMY)
MAKER = VersionScheme(
    "maker",
    OrderKind.PATTERN,
    r"R(?P<major>\d+)(?P<letter>[a-z])?_(?P<day>\d{6})(?:-(?P<stage>beta|rc))?",
    (
        VersionPart("major", PartKind.NUMBER),
        VersionPart("letter", PartKind.LETTERS),
        VersionPart("day", PartKind.DATE_DMY),
        VersionPart("stage", PartKind.WORDS, ("beta", "rc"), missing_last=True),
    ),
)

PUBLISHED = (
    "1.0.0-alpha", "1.0.0-alpha.1", "1.0.0-alpha.beta", "1.0.0-beta",
    "1.0.0-beta.2", "1.0.0-beta.11", "1.0.0-rc.1", "1.0.0",
)  # fmt: skip
"""Semantic Versioning 2.0.0, item 11.4: its own example of precedence."""


def ascending(scheme: VersionScheme, *versions: str) -> bool:
    return all(version_key(scheme, a) < version_key(scheme, b) for a, b in pairwise(versions))


def test_semver_as_published() -> None:
    assert ascending(SEMVER, *PUBLISHED)
    # Item 11.2 gives these three steps, item 10 says that build data does not count.
    assert ascending(SEMVER, "1.0.0", "2.0.0", "2.1.0", "2.1.1")
    assert version_key(SEMVER, "1.0.0+20130313144700") == version_key(SEMVER, "1.0.0+exp.sha.51")
    # The trap: neither plain text nor natural order is the published one.
    assert sorted(PUBLISHED) != list(PUBLISHED)
    assert natsort.natsorted(PUBLISHED) != list(PUBLISHED)


@pytest.mark.parametrize(
    "text",
    # Items 2 and 9 (no leading zeros, no empty identifiers); FAQ: "v1.2.3" is no version.
    ["v1.2.3", "1.2", "01.2.3", "1.2.3-01", "1.2.3-", "1.2.3-a..b", "1.2.3+", "", "1.2.٣"],
)
def test_what_is_no_semver(text: str) -> None:
    with pytest.raises(ValueError, match=r"SemVer 2\.0\.0"):
        version_key(SEMVER, text)
    assert not semver.Version.is_valid(text)


NUMBERS = st.integers(0, 120)
IDENTIFIERS = st.lists(st.from_regex(r"0|[1-9][0-9]{0,3}|[0-9]?[a-zA-Z-]{1,4}", fullmatch=True))
SEMVERS = st.builds(
    lambda a, b, c, pre: f"{a}.{b}.{c}" + (f"-{'.'.join(pre)}" if pre else ""),
    NUMBERS, NUMBERS, NUMBERS, IDENTIFIERS.filter(lambda made: len(made) < 5),
)  # fmt: skip
DOTTEDS = st.from_regex(r"[vV]?[0-9]{1,3}([._ -][0-9]{1,3}[a-zA-Z]{0,2}){0,4}", fullmatch=True)
YMDS = st.dates().map(lambda day: f"{day:%Y%m%d}".zfill(8))
DMYS = st.dates(min_value=date(2000, 1, 1)).map(lambda d: f"{d:%d%m%Y}")
MAKERS = st.builds(
    "R{}{}_{}{}".format, NUMBERS, st.sampled_from(["", "a", "k"]),
    st.sampled_from(["010226", "311225", "290224"]), st.sampled_from(["", "-beta", "-rc"]),
)  # fmt: skip
SAMPLES = ((SEMVER, SEMVERS), (DOTTED, DOTTEDS), (YMD, YMDS), (DMY, DMYS), (MAKER, MAKERS))


@given(SEMVERS, SEMVERS)
def test_semver_agrees_with_a_library(one: str, other: str) -> None:
    ours = (version_key(SEMVER, one) > version_key(SEMVER, other)) - (
        version_key(SEMVER, one) < version_key(SEMVER, other)
    )
    assert ours == semver.Version.parse(one).compare(other)  # semver 3.1.2


@given(st.data())
def test_every_order_is_total_and_transitive(data: st.DataObject) -> None:
    scheme, texts = data.draw(st.sampled_from(SAMPLES))
    a, b, c = (version_key(scheme, data.draw(texts)) for _ in range(3))
    assert (a < b) + (a == b) + (a > b) == 1
    assert not (a <= b and b <= c) or a <= c
    assert not (a == b and b == c) or a == c


@given(st.lists(st.lists(NUMBERS, min_size=1, max_size=4), min_size=2, max_size=8))
def test_numbers_agree_with_two_libraries(rows: list[list[int]]) -> None:
    texts = [".".join(map(str, row)) for row in rows]
    # PEP 440 by packaging: numbers by value, zeros at the end do not count.
    for one in texts:
        for other in texts:
            assert (version_key(DOTTED, one) < version_key(DOTTED, other)) == (
                Version(one) < Version(other)
            )
    # natsort 8.4.0 on versions of equal length.
    same = [f"{row[0]}.{row[-1]}" for row in rows]
    by_key = sorted(same, key=lambda text: version_key(DOTTED, text))
    assert by_key == natsort.natsorted(same)


def test_dotted() -> None:
    # Common practice, no source: 10 after 9, leading zeros, letters after their number.
    assert ascending(DOTTED, "1.8", "1.12", "2.9", "2.9a", "2.9b", "2.9.1", "2.10", "V10.0")
    assert version_key(DOTTED, "v1.08") == version_key(DOTTED, "1.8.0")
    # The trap of plain text.
    assert sorted(["V1.10", "V1.9", "V2.0", "V10.0"]) == ["V1.10", "V1.9", "V10.0", "V2.0"]
    assert ascending(DOTTED, "V1.9", "V1.10", "V2.0", "V10.0")
    for text in ("", "latest", "1..2", "1.2.", "2.10 beta!", "1.2\n", "9" * (LONGEST + 1)):
        with pytest.raises(ValueError, match=r"no dotted|longer"):
            version_key(DOTTED, text)


def test_dates() -> None:
    # The same days in both orders; as text, 010226 stands before 311225.
    assert ascending(YMD, "20251231", "2026-02-01", "20260202")
    assert ascending(DMY, "311225", "010226", "02-02-2026")
    # 2024 was a leap year, 2026 is none (Gregorian calendar).
    assert version_key(DMY, "290224") == version_key(DMY, "29.02.2024")
    for scheme, text in ((DMY, "290226"), (YMD, "20261301"), (YMD, "261126"), (DMY, "2026-11-26")):
        with pytest.raises(ValueError, match=r"no day|no date"):
            version_key(scheme, text)


def test_a_makers_own_order() -> None:
    assert ascending(
        MAKER, "R9_010226", "R9a_311225", "R9a_010226-beta", "R9a_010226-rc", "R9a_010226",
        "R10_311225",
    )  # fmt: skip
    with pytest.raises(ValueError, match="does not fit the pattern"):
        version_key(MAKER, "S9_010226")
    with pytest.raises(ValueError, match="no day of the calendar"):
        version_key(MAKER, "R9_320126")


def test_patterns_that_cannot_be() -> None:
    assert pattern_fault(MAKER.pattern, ["major", "day"]) == ""
    assert "no group named 'minor'" in pattern_fault(MAKER.pattern, ["minor"])
    assert "no regular expression" in pattern_fault("(?P<a>[0-9]", ["a"])
    assert "repeats a group" in pattern_fault("(?P<a>([0-9]+)+)x", ["a"])


def test_orders_do_not_depend_on_how_a_list_began() -> None:
    shuffled = list(PUBLISHED)
    random.Random(7).shuffle(shuffled)
    assert sorted(shuffled, key=lambda text: version_key(SEMVER, text)) == list(PUBLISHED)
