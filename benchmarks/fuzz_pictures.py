"""A long fuzz run over the picture loader.

Small pictures of every format and kind (progressive, CMYK, 16 bits, palette, animated, tiled,
grids of tiles, turned) are damaged at random: bytes changed, fields set to extremes, pieces
cut out, doubled or exchanged between files, ends cut off. Each is decoded in a child process with
a limit on memory and time. Allowed are a picture or a PictureError of one line; another exception,
a crash, a hang or more memory is a fault, and its file is kept in the folder that is printed.

Run: python benchmarks/fuzz_pictures.py [seconds] [seed]
Writes benchmarks/results/fuzz_pictures.json, unless it holds a longer run and this one found no
fault; exit code 1 when there are faults.
"""

from __future__ import annotations

import io
import json
import multiprocessing
import platform
import resource
import signal
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime
from importlib.metadata import version
from multiprocessing.connection import Connection
from pathlib import Path

import numpy as np
import pillow_heif
from PIL import Image, features

from asfound.errors import PictureError
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.version import VERSION

RESULTS = Path(__file__).parent / "results" / "fuzz_pictures.json"
BATCH = 500
SLOW_S = 10
"""Seconds after which one small file counts as a hang."""
MEMORY = 3 << 29
"""Bytes of address space over what the child has when it starts."""
MOST_MB = 700
"""Megabytes that a child may really use: the recogniser needs the rest of the gigabyte."""
LONGEST = 256
EXTREMES = (0, 1, 2, 255, 256, 32767, 65535, 65536, 2**31 - 1, 2**31, 2**32 - 1)


def seeds() -> dict[str, bytes]:
    """Sound files that the damaged ones are made from."""
    rng = np.random.default_rng(7)
    pixels = rng.integers(0, 256, (40, 56, 3), dtype=np.uint8)
    pixels[8:30, 10:40] = (200, 60, 20)
    rgb = Image.fromarray(pixels)
    grey16 = Image.fromarray(pixels[:, :, 0].astype(np.uint16) * 257)
    exif = Image.Exif()
    exif[0x0112], exif[0x0131] = 6, "test"
    exif.get_ifd(0x8769)[0x9003] = "2026:03:17 21:40:05"
    tags = exif.tobytes()
    made: dict[str, bytes] = {}

    def keep(name: str, image: Image.Image, kind: str, **options: object) -> None:
        buffer = io.BytesIO()
        image.save(buffer, kind, **options)
        made[name] = buffer.getvalue()

    keep("jpeg", rgb, "JPEG", exif=tags, quality=85)
    keep("jpeg progressive", rgb, "JPEG", exif=tags, progressive=True)
    keep("jpeg cmyk", rgb.convert("CMYK"), "JPEG")
    keep("jpeg multi", rgb, "MPO", save_all=True, append_images=[rgb])
    keep("png", rgb, "PNG", exif=tags)
    keep("png 16", grey16, "PNG")
    keep("png palette", rgb.quantize(16), "PNG", transparency=3)
    keep("png animated", rgb, "PNG", save_all=True, append_images=[rgb.rotate(90)])
    keep("webp", rgb, "WEBP", exif=tags)
    keep("webp lossless", rgb.convert("RGBA"), "WEBP", lossless=True)
    keep("webp animated", rgb, "WEBP", save_all=True, append_images=[rgb.rotate(90)])
    keep("avif", rgb, "AVIF", exif=tags, speed=9)
    keep("bmp", rgb, "BMP")
    for packing in ("raw", "tiff_lzw", "tiff_adobe_deflate", "jpeg", "packbits"):
        keep(f"tiff {packing}", rgb, "TIFF", compression=packing, exif=exif)
    keep("tiff 16", grey16, "TIFF")
    keep("tiff several", rgb, "TIFF", save_all=True, append_images=[rgb, rgb])
    for name, image, options in (
        ("heic", rgb, {"exif": tags}),
        ("heic alpha", rgb.convert("RGBA"), {}),
        ("heic grid", rgb.resize((300, 200)), {"tile_size": 64}),
        ("heic grey", rgb.convert("L"), {}),
    ):
        buffer = io.BytesIO()
        pillow_heif.from_pillow(image).save(buffer, **options)
        made[name] = buffer.getvalue()
    return made


def damaged(rng: np.random.Generator, files: list[bytes]) -> tuple[int, bytes]:
    """The number of a sound file, and that file after one to four kinds of damage."""
    which = int(rng.integers(len(files)))
    data = bytearray(files[which])
    for _ in range(int(rng.integers(1, 5))):
        if len(data) < 16:
            break
        # Headers are short: half of all damage is done to the first 300 bytes.
        end = len(data) if rng.random() < 0.5 else min(len(data), 300)
        at, length = int(rng.integers(end)), int(rng.integers(1, 40))
        match int(rng.integers(7)):
            case 0:
                data[at] = int(rng.integers(256))
            case 1:
                data[at] ^= 1 << int(rng.integers(8))
            case 2:
                extreme = EXTREMES[int(rng.integers(len(EXTREMES)))]
                big = extreme.to_bytes(4, "big")
                data[at : at + 4] = big if rng.random() < 0.5 else big[::-1]
            case 3:
                del data[at : at + length]
            case 4:
                data[at:at] = data[at : at + length]
            case 5:
                other = files[int(rng.integers(len(files)))]
                start = int(rng.integers(len(other)))
                data[at : at + length] = other[start : start + length]
            case _:
                del data[max(16, int(rng.integers(len(data)))) :]
    return which, bytes(data)


@dataclass
class Found:
    """What became of the cases."""

    outcomes: Counter[str] = field(default_factory=Counter)
    by_kind: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    slowest_s: float = 0.0
    peak_mb: float = 0.0


def work(seed: int, folder: str, pipe: Connection) -> None:
    """Child: decode one batch, the present case on disk so that a crash leaves it behind."""
    sound = seeds()
    names, files = list(sound), list(sound.values())
    pages = int(Path("/proc/self/statm").read_text().split()[0])
    limit = pages * resource.getpagesize() + MEMORY
    resource.setrlimit(resource.RLIMIT_AS, (limit, limit))
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    rng, pictures, found = np.random.default_rng(seed), PillowPictures(), Found()
    present = Path(folder) / f"present-{seed}"
    for number in range(BATCH):
        which, data = damaged(rng, files)
        present.write_bytes(data)
        signal.alarm(SLOW_S)
        started = time.perf_counter()
        try:
            pixels = pictures.decode(data, "case", LONGEST).pixels
            right = pixels.dtype == np.uint8 and pixels.shape[2] == 3
            outcome = "decoded" if right and max(pixels.shape[:2]) <= LONGEST else "odd array"
        except PictureError as error:
            outcome = "refused" if "\n" not in str(error) else "several lines"
        except Exception as error:  # what must not happen is what is looked for
            outcome = f"{type(error).__name__}: {error}"
        found.slowest_s = max(found.slowest_s, time.perf_counter() - started)
        signal.alarm(0)
        status = Path("/proc/self/status").read_text()
        peak = int(status.split("VmHWM:")[1].split()[0]) / 1024
        if peak > max(MOST_MB, found.peak_mb):
            outcome = f"{peak:.0f} MB, {outcome}"
        found.peak_mb = peak
        found.outcomes[outcome] += 1
        found.by_kind[f"{names[which]} {outcome}"[:80]] += 1
        if outcome not in ("decoded", "refused"):
            kept = Path(folder) / f"fault-{seed}-{number}"
            kept.write_bytes(data)
            found.faults.append(f"{kept.name} ({names[which]}): {outcome}")
    present.unlink()
    pipe.send(found)


def batch(seed: int, folder: str) -> Found:
    """Run one child; a crash or a hang is a fault of its own."""
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe(duplex=False)
    child = context.Process(target=work, args=(seed, folder, theirs))
    child.start()
    theirs.close()
    try:
        found: Found = ours.recv()
    except EOFError:
        child.join()
        found = Found()
        found.outcomes["crashed or hung"] += 1
        found.faults.append(f"present-{seed}: the process ended with {child.exitcode}")
    child.join()
    return found


def stored_cases() -> int:
    """How many cases the stored run had; a short one without faults says less and is not kept."""
    if not RESULTS.exists():
        return 0
    return int(json.loads(RESULTS.read_text("utf-8"))["cases"])


def main() -> int:
    """Run batches until the time is up; print and store what was found."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    folder = tempfile.mkdtemp(prefix="fuzz-pictures-")
    total, started, batches = Found(), time.perf_counter(), 0
    while time.perf_counter() - started < seconds:
        found = batch(seed * 1_000_000 + batches, folder)
        batches += 1
        total.outcomes += found.outcomes
        total.by_kind += found.by_kind
        total.faults += found.faults
        total.slowest_s = max(total.slowest_s, found.slowest_s)
        total.peak_mb = max(total.peak_mb, found.peak_mb)
    result = {
        "benchmark": "damaged pictures through the loader",
        "at": datetime.now(UTC).isoformat(timespec="seconds"),
        "versions": {
            "asfound": VERSION,
            "python": platform.python_version(),
            "pillow": version("pillow"),
            "pillow-heif": version("pillow-heif"),
            "libjpeg-turbo": features.version("libjpeg_turbo"),
        },
        "seed": seed,
        "seconds": round(time.perf_counter() - started),
        "cases": sum(total.outcomes.values()),
        "outcomes": dict(total.outcomes),
        "slowest case [s]": round(total.slowest_s, 2),
        "peak memory of a child [MB]": round(total.peak_mb),
        "faults": total.faults,
        "by kind": dict(sorted(total.by_kind.items())),
    }
    print(json.dumps(result, indent=2))
    if total.faults or sum(total.outcomes.values()) >= stored_cases():
        RESULTS.write_text(json.dumps(result, indent=2) + "\n", "utf-8")
    else:
        print(f"{RESULTS} holds a longer run and is kept")
    print(f"files of faults: {folder}")
    return 1 if total.faults else 0


if __name__ == "__main__":
    sys.exit(main())
