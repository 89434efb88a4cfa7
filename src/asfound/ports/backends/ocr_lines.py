"""Text recognition with the project's own model (data/lines.onnx), on ONNX Runtime.

The model was trained on drawn lines of text (training/): any font, half of the texts without a
language, so that what it says of look-alikes follows the picture. It gives every character a
chance at every place, not only the best one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from importlib.resources import files
from typing import Any

import cv2
import numpy as np
import onnxruntime
from numpy.typing import NDArray

from asfound.ports.ocr import Lattice
from asfound.ports.pictures import Pixels

_HEIGHT = 32
"""Height of a line as the model takes it, in pixels."""

_STEP = 2
"""Columns that make one place of the output."""

_BATCH_COLUMNS = 4096
"""Columns of all lines of one batch together."""

_WIDTHS = (48, 64, 96, 128, 160, 192, 224, 256, 320, 384, 448, 512, 640, 768, 1024)


class LineOcr:
    """Reads lines; ``threads`` bounds the cores one call uses."""

    def __init__(self, threads: int = 2) -> None:
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = threads
        options.inter_op_num_threads = 1
        options.log_severity_level = 3
        options.add_session_config_entry("session.intra_op.allow_spinning", "0")
        model = files("asfound.data").joinpath("lines.onnx").read_bytes()
        self._session: Any = onnxruntime.InferenceSession(
            model, options, providers=["CPUExecutionProvider"]
        )
        self._alphabet = str(self._session.get_modelmeta().custom_metadata_map["alphabet"])

    def lattices(self, crops: Sequence[Pixels]) -> Sequence[Lattice]:
        """What may stand at each place of each upright single-line crop."""
        lines = [_line(crop) for crop in crops]
        found: list[Lattice | None] = [None] * len(lines)
        for width, members in _batches([line.shape[1] for line in lines]):
            batch = np.zeros((len(members), 1, _HEIGHT, width), np.float32)
            for place, index in enumerate(members):
                batch[place, 0, :, : lines[index].shape[1]] = lines[index]
            scores = self._session.run(None, {"lines": batch})[0]
            for place, index in enumerate(members):
                own = -(-lines[index].shape[1] // _STEP)
                found[index] = Lattice(self._alphabet, scores[place, : own + 2])
        return [one for one in found if one is not None]


def _line(crop: Pixels) -> NDArray[np.float32]:
    """A crop in grey at the model's height, mean 0 and deviation 1."""
    grey = cv2.cvtColor(np.ascontiguousarray(crop), cv2.COLOR_RGB2GRAY)
    high, wide = grey.shape
    width = min(2048, max(8, round(wide * _HEIGHT / max(high, 1))))
    how = cv2.INTER_AREA if high > _HEIGHT else cv2.INTER_LINEAR
    line = cv2.resize(grey, (width, _HEIGHT), interpolation=how).astype(np.float32) / 255
    return np.asarray((line - line.mean()) / (line.std() + 0.01), dtype=np.float32)


def _batches(widths: Sequence[int]) -> Iterator[tuple[int, list[int]]]:
    """Padded width and members of each batch. What stands beside a line may change what is read,
    so the padded width depends on the line alone."""
    groups: dict[int, list[int]] = {}
    for index, width in enumerate(widths):
        padded = next((step for step in _WIDTHS if step >= width + 8), -(-width // 256) * 256 + 256)
        groups.setdefault(padded, []).append(index)
    for width, members in sorted(groups.items()):
        size = max(1, _BATCH_COLUMNS // width)
        for first in range(0, len(members), size):
            yield width, members[first : first + size]
