"""Verdicts on drives, held against what published field studies watch.

Watched counts 5, 187, 188, 197, 198 above 0: drive statistics on 67,814 hard disks, 2016 (read).
Scan errors: Pinheiro et al., FAST 2007 (from memory). NVMe limits: NVMe Base Specification (from
memory).
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.smart_reports import TAKEN, hdd, head, nvme, row, self_tests, ssd, statistics, text

from asfound.calc.smart_json import read_smart
from asfound.jobs.drive_health import Health, HealthVerdict, drive_health
from asfound.model.drive_check import Weight

GOOD, SUSPECT = HealthVerdict.GOOD, HealthVerdict.SUSPECT
FAILING, UNCLEAR = HealthVerdict.FAILING, HealthVerdict.COULD_NOT_TELL


def judged(report: dict[str, Any]) -> Health:
    return drive_health(read_smart(text(report)))


def kinds(health: Health) -> list[str]:
    return [one.kind for one in health.findings]


@pytest.mark.parametrize("report", [hdd(), ssd(), nvme(), hdd(**self_tests(True, True))])
def test_nothing_found(report: dict[str, Any]) -> None:
    health = judged(report)
    assert (health.verdict, health.findings, health.unclear) == (GOOD, (), ())


@pytest.mark.parametrize("number", [5, 187, 188, 197, 198])
def test_one_count_that_field_studies_watch_is_enough(number: int) -> None:
    for report in (hdd({number: 1}), ssd({number: 1})):
        health = judged(report)
        assert health.verdict is SUSPECT
        [one] = health.findings
        assert (one.measured, one.limit, one.weight) == (1, 0, Weight.SUSPECT)
        assert "67,814 hard disks" in one.source and f"attribute {number}" in one.note


def test_time_outs_are_unpacked() -> None:
    [one] = judged(hdd({188: 0x0001_0002_0003})).findings
    assert one.measured == 3 and "of them 2 late and 1 very late" in one.note


def test_a_code_that_is_not_known_is_not_taken_for_good() -> None:
    health = judged(hdd({5: 2**40}))
    assert health.verdict is UNCLEAR
    assert health.unclear == ("attribute 5 packs its count in a code that is not known",)


def test_a_scan_error_long_ago() -> None:
    health = judged(hdd(**self_tests(True, False, True)))
    assert (health.verdict, kinds(health)) == (SUSPECT, ["scan-errors"])
    assert "at 6999 power-on hours" in health.findings[0].note
    table = [{"self_test_result": {"value": 7, "string": "failed"}, "power_on_hours": 12}]
    assert kinds(judged(nvme(nvme_self_test_log={"table": table}))) == ["scan-errors"]


@pytest.mark.parametrize(
    ("more", "verdict", "kind"),
    [
        ({"value": 9}, FAILING, "below-threshold"),
        ({"value": 10}, FAILING, "below-threshold"),
        ({"when_failed": "now"}, FAILING, "below-threshold"),
        ({"when_failed": "past", "worst": 8}, SUSPECT, "was-below-threshold"),
        ({"value": 3, "flags": {"prefailure": False}}, SUSPECT, "below-threshold"),
    ],
)
def test_rows_at_their_makers_threshold(
    more: dict[str, Any], verdict: HealthVerdict, kind: str
) -> None:
    # ATA: an attribute has failed when its value is at or below its threshold.
    table = {"table": [row(5, 0, **more), row(197, 0)]}
    health = judged(hdd(ata_smart_attributes=table))
    assert (health.verdict, kinds(health)) == (verdict, [kind])


def test_what_the_drive_says_over_all() -> None:
    health = judged(hdd({5: 20}, smart_status={"passed": False}))
    assert health.verdict is FAILING
    assert kinds(health) == ["status-failed", "reallocated-sectors"], "the gravest first"


@pytest.mark.parametrize(
    ("log", "verdict", "kind"),
    [
        ({"critical_warning": 1}, FAILING, "spare-low"),
        ({"available_spare": 9}, FAILING, "spare-low"),
        ({"available_spare": 9, "critical_warning": 1}, FAILING, "spare-low"),
        ({"available_spare": 30, "available_spare_threshold": 31}, FAILING, "spare-low"),
        ({"critical_warning": 2}, SUSPECT, "too-hot"),
        ({"critical_warning": 4}, FAILING, "unreliable"),
        ({"critical_warning": 8}, FAILING, "read-only"),
        ({"critical_warning": 64}, SUSPECT, "warning"),
        ({"percentage_used": 100}, SUSPECT, "worn-out"),
        ({"percentage_used": 255}, SUSPECT, "worn-out"),
        ({"percentage_used": 80}, GOOD, "nearly-worn-out"),
        ({"media_errors": 1}, SUSPECT, "media-errors"),
        ({"unsafe_shutdowns": 451}, GOOD, "unsafe-power-offs"),
    ],
)
def test_nvme(log: dict[str, Any], verdict: HealthVerdict, kind: str) -> None:
    health = judged(nvme(log))
    assert (health.verdict, kinds(health)) == (verdict, [kind])


def test_an_nvme_drive_that_fails_and_does_not_say_why() -> None:
    assert judged(nvme(smart_status={"passed": False})).verdict is FAILING


@pytest.mark.parametrize(
    ("report", "kind", "limit"),
    [
        # Data-centre hard disks: 5 to 60 degrees (trade articles, read).
        (hdd(temperature={"current": 61}), "hot-now", 60),
        (hdd(temperature={"current": 66, "op_limit_max": 65}), "hot-now", 65),
        (ssd(temperature={"current": 71}), "hot-now", 70),
        (hdd(temperature={"current": 30, "lifetime_max": 61}), "was-too-hot", 60),
        (hdd(**statistics((5, 0x20, 66), (5, 0x58, 65))), "was-too-hot", 65),
        (hdd(**statistics((2, 0x10, 3))), "over-limit-shocks", 0),
        (hdd({191: 400}), "shocks", 1),
        (hdd({199: 4}), "cable-errors", 0),
        (hdd(power_on_time={"hours": 43_801}), "old", 43_800),
        (hdd(ata_smart_error_log={"summary": {"count": 2}}), "errors-logged", 0),
        (ssd(endurance_used={"current_percent": 85}), "nearly-worn-out", 80),
    ],
)
def test_notes_leave_it_good(report: dict[str, Any], kind: str, limit: float) -> None:
    health = judged(report)
    assert (health.verdict, kinds(health)) == (GOOD, [kind])
    assert health.findings[0].limit == limit and health.findings[0].weight is Weight.NOTE


def test_within_its_limits() -> None:
    assert not judged(hdd({191: 300}, temperature={"current": 60, "lifetime_max": 60})).findings
    assert not judged(hdd(temperature={"current": 64, "op_limit_max": 65})).findings


@pytest.mark.parametrize(("days", "kinds"), [(-3, []), (6.9, []), (7.1, ["old-report"])])
def test_an_old_report(days: float, kinds: list[str]) -> None:
    report = read_smart(text(hdd(**TAKEN)))
    now = datetime(2026, 11, 26, 8, tzinfo=UTC) + timedelta(days=days)
    health = drive_health(report, now)
    assert [one.kind for one in health.findings] == kinds and health.verdict is GOOD
    assert not drive_health(report).findings
    assert not drive_health(read_smart(text(hdd())), now).findings


def test_statistics_stand_in_for_rows() -> None:
    bare = {"ata_smart_attributes": None}
    health = judged(hdd(**bare, **statistics((3, 0x20, 4), (3, 0x38, 0), (4, 8, 0))))
    assert (health.verdict, kinds(health)) == (SUSPECT, ["reallocated-sectors"])
    assert judged(hdd(**bare, **statistics((3, 0x20, 0), (3, 0x38, 0)))).verdict is GOOD
    both = judged(hdd({5: 4}, **statistics((3, 0x20, 4))))
    assert kinds(both) == ["reallocated-sectors"], "one fault, told once"


@pytest.mark.parametrize(
    ("report", "said"),
    [
        (head("SCSI") | {"smart_status": None}, "no table of attributes"),
        (hdd(smart_status={}), "no status over all"),
        (hdd(ata_smart_attributes={"table": [row(9, 12)]}), "replaced sectors"),
        (hdd(ata_smart_attributes={"table": [row(5, 0)]}), "cannot be read"),
        (ssd(ata_smart_attributes={"table": [row(9, 12)]}), "none of the counts"),
        (nvme({"available_spare": None}), "nothing of spare blocks"),
        (nvme(nvme_smart_health_information_log={}), "nothing of critical warning"),
    ],
)
def test_could_not_tell(report: dict[str, Any], said: str) -> None:
    health = judged(report)
    assert health.verdict is UNCLEAR and any(said in line for line in health.unclear)


def test_scsi_counters() -> None:
    counters = {"read": {"total_uncorrected_errors": 2}, "write": {"total_uncorrected_errors": 1}}
    report = head("SCSI") | {"scsi_grown_defect_list": 0, "scsi_error_counter_log": counters}
    health = judged(report)
    assert (health.verdict, kinds(health)) == (SUSPECT, ["uncorrectable-errors"])
    assert health.findings[0].measured == 3
    assert judged(head("SCSI") | {"scsi_grown_defect_list": 0}).verdict is GOOD


COUNTS = st.dictionaries(st.sampled_from([5, 187, 188, 197, 198]), st.integers(0, 2**32 - 1))


@given(COUNTS)
def test_good_only_without_any_watched_count(raws: dict[int, int]) -> None:
    health = judged(hdd(raws))
    assert (health.verdict is GOOD) == (not any(raws.values()))
    assert len(health.findings) == sum(bool(raw) for raw in raws.values())


@given(COUNTS, st.integers(1, 2**31))
def test_more_is_never_better(raws: dict[int, int], more: int) -> None:
    order = [FAILING, SUSPECT, UNCLEAR, GOOD]
    worse = {number: raw + more for number, raw in raws.items()}
    assert order.index(judged(hdd(worse)).verdict) <= order.index(judged(hdd(raws)).verdict)
