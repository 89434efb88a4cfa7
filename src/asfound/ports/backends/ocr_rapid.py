"""Text recognition with the models that the rapidocr package carries, on ONNX Runtime.

Detection uses the package's own detector. Recognition runs its model directly, so that the
alphabet can be limited to what menus of Latin script show and every character keeps its score.
"""

from __future__ import annotations

import logging
import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import onnxruntime
import rapidocr
from numpy.typing import NDArray

from asfound.errors import MissingPart
from asfound.model.reading import Box
from asfound.ports.backends.ocr_lines import LineOcr
from asfound.ports.ocr import Lattice, Recognised
from asfound.ports.pictures import Pixels

_HEIGHT = 48
"""Line height that the recognition model was trained on, in pixels."""

_BATCH = 8
_WIDTHS = (160, 240, 320, 400, 480, 640, 800, 1000, 1280, 1600, 2400)
"""Widths, in pixels, that lines are padded to."""

_EXTRA = "€–—‘’“”•…™←↑→↓≤≥−"
_LAST_LATIN = 0x17F


class RapidOcr:
    """Detector and recogniser; ``threads`` bounds the cores one call uses."""

    def __init__(self, threads: int = 2) -> None:
        self._threads = threads
        # The package announces itself on standard error at level INFO.
        logging.getLogger("RapidOCR").setLevel(logging.ERROR)
        engine: Any = rapidocr.RapidOCR(
            params={
                "Global.log_level": "error",
                "Det.model_path": str(_model("det")),
                "Det.limit_type": "max",
                "Det.limit_side_len": 4096,
            }
        )
        self._detector: Any = engine._load_det_model()
        self._detector.session.session = _session(_model("det"), threads)
        self._session = _session(_model("rec"), threads)
        self._alphabet, self._kept = _latin(self._session)
        self._lines = LineOcr(threads)

    def __reduce__(self) -> tuple[type[RapidOcr], tuple[int]]:
        """Sessions cannot be carried to another process: there the engine is made anew."""
        return RapidOcr, (self._threads,)

    def detect(self, pixels: Pixels) -> Sequence[Box]:
        """Outlines of text lines, found at the size the picture comes in."""
        found = self._detector(np.ascontiguousarray(pixels[:, :, ::-1]))
        if found.boxes is None:
            return []
        return [_box(points) for points in found.boxes]

    def recognise(self, crops: Sequence[Pixels]) -> Sequence[Recognised]:
        """Text, score and place of each character of each crop."""
        results = [Recognised("", (), ())] * len(crops)
        for number, scores, stretch in self._seen(crops):
            results[number] = self._decode(scores, stretch)
        return results

    def first_lattices(self, crops: Sequence[Pixels]) -> Sequence[Lattice]:
        """What may stand at each place of each crop, by the package's model."""
        alphabet = "".join(self._alphabet)
        found = [Lattice(alphabet, np.zeros((0, len(self._alphabet)), np.float32))] * len(crops)
        for number, scores, stretch in self._seen(crops):
            # A copy: a part of a batch would keep all of it.
            own = scores[: math.ceil(len(scores) / stretch)].copy()
            found[number] = Lattice(alphabet, own)
        return found

    def _seen(self, crops: Sequence[Pixels]) -> Iterator[tuple[int, NDArray[np.float32], float]]:
        """Number of each crop, its places x characters, and how much wider it was padded."""
        lines = [_line(crop) for crop in crops]
        order = sorted(range(len(lines)), key=lambda i: lines[i].shape[1])
        for width, members in groupby(order, key=lambda i: _padded(lines[i].shape[1])):
            for chosen in _batched(members):
                scores = self._scores([lines[i] for i in chosen], width)
                for i, one in zip(chosen, scores, strict=True):
                    yield i, one, width / lines[i].shape[1]

    def lattices(self, crops: Sequence[Pixels]) -> Sequence[Lattice]:
        """What may stand at each place of each crop, by the project's own model."""
        return self._lines.lattices(crops)

    def _scores(self, lines: Sequence[NDArray[np.float32]], width: int) -> NDArray[np.float32]:
        """Probabilities, lines x steps x kept characters (blank first)."""
        batch = np.zeros((len(lines), 3, _HEIGHT, width), np.float32)
        for number, line in enumerate(lines):
            batch[number, :, :, : line.shape[1]] = line.transpose(2, 0, 1) / 127.5 - 1.0
        name = self._session.get_inputs()[0].name
        out: NDArray[np.float32] = self._session.run(None, {name: batch})[0]
        return out[:, :, self._kept]

    def _decode(self, scores: NDArray[np.float32], stretch: float) -> Recognised:
        """Best path of connectionist temporal classification: merge repeats, drop blanks.

        A character's score is its probability at its strongest step; ``stretch`` is the
        padded width over the line's own.
        """
        best = scores.argmax(axis=1)
        text: list[str] = []
        values: list[float] = []
        places: list[float] = []
        previous = 0
        for step, index in enumerate(best):
            value = float(scores[step, index])
            if index != 0 and index == previous:
                values[-1] = max(values[-1], value)
            elif index != 0:
                text.append(self._alphabet[index])
                values.append(value)
                places.append(min(1.0, (step + 0.5) / len(best) * stretch))
            previous = int(index)
        return Recognised("".join(text), tuple(values), tuple(places))


def _model(task: str) -> Path:
    """The model that the package carries: naming it keeps the package from fetching one."""
    folder = Path(str(rapidocr.__file__)).parent / "models"
    models = sorted(folder.glob(f"*_{task}_*.onnx"))
    if not models:
        raise MissingPart(f"no {task} model in the rapidocr package; install rapidocr again")
    return models[-1]


def _session(model: Path, threads: int) -> Any:
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = threads
    options.inter_op_num_threads = 1
    options.log_severity_level = 3
    # Waiting threads sleep: spinning would take the cores from whatever else runs.
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    return onnxruntime.InferenceSession(str(model), options, providers=["CPUExecutionProvider"])


def _latin(session: Any) -> tuple[list[str], NDArray[np.int64]]:
    """Characters kept (blank first) and their columns in the model's output."""
    listed = session.get_modelmeta().custom_metadata_map["character"].splitlines()
    everything = ["", *listed, " "]
    kept = [
        column
        for column, text in enumerate(everything)
        if column == 0 or (len(text) == 1 and (ord(text) <= _LAST_LATIN or text in _EXTRA))
    ]
    return [everything[column] for column in kept], np.array(kept, dtype=np.int64)


def _line(crop: Pixels) -> NDArray[np.float32]:
    """A crop scaled to the model's height, BGR, 0..255."""
    height, width = crop.shape[:2]
    wide = max(_HEIGHT // 2, round(width * _HEIGHT / max(height, 1)))
    how = cv2.INTER_AREA if height > _HEIGHT else cv2.INTER_CUBIC
    scaled = cv2.resize(np.ascontiguousarray(crop[:, :, ::-1]), (wide, _HEIGHT), interpolation=how)
    return scaled.astype(np.float32)


def _padded(width: int) -> int:
    """The width that a line is padded to. What stands beside a line changes what is read, so
    it must depend on the line alone, not on its batch."""
    return next((step for step in _WIDTHS if step >= width), width)


def _batched(members: Iterable[int]) -> Iterator[list[int]]:
    """Lists of at most _BATCH members."""
    whole = list(members)
    for first in range(0, len(whole), _BATCH):
        yield whole[first : first + _BATCH]


def _box(points: NDArray[np.float32]) -> Box:
    a, b, c, d = ((float(x), float(y)) for x, y in points)
    return (a, b, c, d)
