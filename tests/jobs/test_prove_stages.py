"""Looking in stages finds what decoding everything finds, and decodes a fraction of it.

Outside check: the other way of looking, every picture decoded, on the same files; and what the
simulator was told to put in.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path

import av
import pytest

from asfound.demo.footage import Camera, Coding, Drive, Fault, film
from asfound.jobs.prove_gather import gather
from asfound.jobs.prove_gathered import Gathered, Way
from asfound.jobs.prove_stream import Looked, Tools, look
from asfound.model.finding import Kind
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.video_av import AvVideo

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
VIDEO = AvVideo()
CRF = Coding(options=(("preset", "veryfast"), ("crf", "29")), key_every_s=2)
TS = Coding(options=(("preset", "superfast"), ("crf", "30")), key_every_s=2, suffix=".ts")
H265 = Coding(
    "libx265",
    (("preset", "ultrafast"), ("crf", "28"), ("x265-params", "log-level=none")),
    key_every_s=2,
    suffix=".mkv",
)
PLAIN = Camera(1, "X", "road", 320, 192, 25, coding=CRF)
KINDS = {Kind.BLACK, Kind.NO_SIGNAL, Kind.FROZEN}


def filmed(folder: Path, camera: Camera, seconds: float = 16.0) -> Path:
    [path] = film(Drive(23, START, seconds, (camera,)), folder)
    return path


def looked(path: Path, whole: bool) -> Looked:
    facts = VIDEO.facts(path)
    tools = Tools(VIDEO, PillowPictures(), None, lambda: None, whole, 0)
    return look(facts, facts.streams[0], 2.0, tools)


def spans(one: Looked) -> list[tuple[Kind, float, float]]:
    return [(f.kind, f.start_s, f.end_s) for f in one.findings if f.kind in KINDS]


@pytest.mark.parametrize(
    ("kind", "coding"),
    [
        ("black", CRF), ("no-signal", CRF), ("frozen", CRF),
        ("black", TS), ("no-signal", TS), ("black", H265), ("no-signal", H265),
    ],
)  # fmt: skip
def test_faults_are_found_where_they_are_with_a_fraction_decoded(
    tmp_path: Path, kind: str, coding: Coding
) -> None:
    fault = Fault(kind, 5.3, 11.6)
    path = filmed(tmp_path, replace(PLAIN, coding=coding, faults=(fault,)))
    one = looked(path, whole=False)
    [(found, start, end)] = spans(one)
    assert found.value == kind
    # Wanted: within one key-picture interval (2 s); sizes tell to about half a second.
    assert (start, end) == pytest.approx((5.3, 11.6), abs=0.5)
    assert one.pictures == 400 and one.decoded < 120


@pytest.mark.parametrize("scene", ["road", "rain", "tunnel", "parked-day", "stopping"])
def test_good_scenes_stay_good(tmp_path: Path, scene: str) -> None:
    path = filmed(tmp_path, replace(PLAIN, scene=scene))
    one, whole = looked(path, whole=False), looked(path, whole=True)
    assert spans(one) == spans(whole) == []
    assert one.decoded < whole.decoded / 2
    assert (one.pictures, one.rate_fps, one.duration_s) == pytest.approx(
        (whole.pictures, whole.rate_fps, whole.duration_s)
    )
    assert one.bitrate_bps == pytest.approx(whole.bitrate_bps, rel=0.1)
    assert one.key_interval_s == whole.key_interval_s


def test_a_pause_that_is_allowed_leaves_the_rate_alone(tmp_path: Path) -> None:
    whole = filmed(tmp_path, PLAIN)
    with_pause = whole.with_name(f"pause{whole.suffix}")
    with av.open(str(whole)) as source, av.open(str(with_pause), "w") as goal:
        kept = goal.add_stream_from_template(source.streams.video[0])
        for packet in source.demux(source.streams.video[0]):
            # Key pictures come each 2 s: 1.6 s without pictures before the third.
            if packet.size and not 2.3 < float((packet.dts or 0) * (packet.time_base or 0)) < 3.9:
                packet.stream = kept
                goal.mux(packet)
    one = looked(with_pause, whole=False)
    assert one.rate_fps == pytest.approx(25, rel=0.02)
    assert not [finding for finding in one.findings if finding.kind is Kind.GAP]


@pytest.mark.parametrize("coding", [TS, H265])
def test_a_stuck_picture_is_never_fine_however_it_is_coded(tmp_path: Path, coding: Coding) -> None:
    camera = replace(PLAIN, coding=coding, faults=(Fault("frozen", 5.3, 11.6),))
    one = looked(filmed(tmp_path, camera), whole=False)
    assert spans(one) or any("stands still" in line for line in one.unclear)


def test_a_short_fault_between_two_key_pictures_is_decoded(tmp_path: Path) -> None:
    path = filmed(tmp_path, replace(PLAIN, faults=(Fault("frozen", 4.7, 7.3),)))
    one = looked(path, whole=False)
    assert [(start, end) for _, start, end in spans(one)] == [pytest.approx((4.7, 7.3), abs=0.2)]


def test_a_stuck_parked_picture_is_never_fine(tmp_path: Path) -> None:
    path = filmed(tmp_path, replace(PLAIN, scene="parked-day", faults=(Fault("frozen", 2),)), 24)
    one = looked(path, whole=False)
    assert spans(one) or any("stands still" in line for line in one.unclear)


def gathered(path: Path, seen: list[float], pixels: int = 0) -> Gathered:
    facts = VIDEO.facts(path)
    way = Way(lambda: None, lambda second, luma, limited: seen.append(second), False, pixels)
    return gather(facts, facts.streams[0], VIDEO, way)


def test_key_pictures_are_shown_in_order_and_often_enough(tmp_path: Path) -> None:
    seen: list[float] = []
    out = gathered(filmed(tmp_path, PLAIN), seen)
    assert seen == sorted(set(seen)) and seen[0] == 0.0
    assert max(after - before for before, after in pairwise(seen)) <= 4.01
    assert out.decoded == len(seen), "nothing else was decoded"


def test_short_streams_are_decoded_wholly(tmp_path: Path) -> None:
    path = filmed(tmp_path, PLAIN, 2.0)
    assert gathered(path, [], pixels=320 * 192 * 50).decoded == 50
    assert gathered(path, [], pixels=320 * 192 * 49).decoded < 50


def test_damage_that_shows_without_decoding_is_looked_into(tmp_path: Path) -> None:
    path = filmed(tmp_path, PLAIN)
    data = bytearray(path.read_bytes())
    middle = len(data) // 2
    data[middle : middle + 4096] = bytes(4096)
    path.write_bytes(data)
    [damage] = [f for f in looked(path, whole=False).findings if f.kind is Kind.DAMAGED]
    assert 6.0 < damage.start_s <= damage.end_s < 12.0


def test_times_that_run_backwards_are_a_finding(tmp_path: Path) -> None:
    # ISO/IEC 13818-1: transport streams may be put one after another byte by byte.
    path = filmed(tmp_path, replace(PLAIN, coding=TS), 6.0)
    path.write_bytes(path.read_bytes() * 2)
    one = looked(path, whole=False)
    [jump] = [f for f in one.findings if f.kind is Kind.TIME_JUMP]
    assert (jump.start_s, jump.measured) == pytest.approx((6.0, 6.0), abs=0.2)
    assert one.duration_s == pytest.approx(12.0, abs=0.2)


CONSTANT = Coding(
    options=(
        ("preset", "superfast"), ("maxrate", "600k"), ("bufsize", "600k"), ("nal-hrd", "cbr"),
    ),
    bit_rate=600_000, key_every_s=2, suffix=".ts",
)  # fmt: skip
PARKED = Camera(1, "X", "parked-day", 640, 360, 12, coding=CONSTANT)


@pytest.mark.parametrize(
    "coding", [CONSTANT, replace(CONSTANT, options=(*CONSTANT.options, ("bf", "0")))]
)
def test_stuck_at_constant_bit_rate_while_parked(tmp_path: Path, coding: Coding) -> None:
    # The bytes that noise no longer takes go into ever finer key pictures.
    fault = Fault("frozen", 6.2, 13.1)
    path = filmed(tmp_path, replace(PARKED, coding=coding, faults=(fault,)), 20.0)
    one = looked(path, whole=False)
    [(kind, start, end)] = spans(one)
    assert kind is Kind.FROZEN
    assert (start, end) == pytest.approx((6.2, 13.1), abs=2.0)


def test_parked_at_constant_bit_rate_costs_key_pictures_only(tmp_path: Path) -> None:
    one = looked(filmed(tmp_path, PARKED, 20.0), whole=False)
    assert spans(one) == [] and not [line for line in one.unclear if "still" in line]
    assert one.decoded < 60 < one.pictures / 3


@pytest.mark.parametrize("coding", [CRF, CONSTANT])
def test_stuck_in_a_dark_tunnel(tmp_path: Path, coding: Coding) -> None:
    camera = Camera(
        1, "X", "tunnel", 640, 360, 12, coding=coding, faults=(Fault("frozen", 5.3, 9.9),)
    )
    one = looked(filmed(tmp_path, camera), whole=False)
    [(kind, start, end)] = spans(one)
    assert kind is Kind.FROZEN
    assert (start, end) == pytest.approx((5.3, 9.9), abs=2.0)


def test_black_begins_in_coarse_pictures_between_keys(tmp_path: Path) -> None:
    coarse = Coding(options=(("preset", "superfast"), ("qp", "36")), key_every_s=4, suffix=".mkv")
    camera = replace(
        PARKED, scene="parked-night", coding=coarse, faults=(Fault("black", 2.9, 7.6),)
    )
    [(kind, start, end)] = spans(looked(filmed(tmp_path, camera), whole=False))
    assert kind is Kind.BLACK
    assert (start, end) == pytest.approx((2.9, 7.6), abs=0.3)
