"""Photographs that pass behind a vehicle's mirror and bonnet, for tests of a camera's aim."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray
from skimage.data import coffee, stereo_motorcycle

from asfound.calc.aim import Aim

Luma = NDArray[np.uint8]
KEPT = Aim(0.0, 0.0, 0.0)
WIDTH, HEIGHT = 400, 225


def driving(places: Sequence[Aim | None], photograph: Luma | None = None) -> list[Luma]:
    """A photograph ("coffee" of scikit-image, 600 x 400) passing behind a mirror and a bonnet that
    the aim of each picture puts elsewhere; None: they are not there."""
    scene = cv2.cvtColor(coffee() if photograph is None else photograph, cv2.COLOR_RGB2GRAY)
    out = []
    for at, place in enumerate(places):
        left, top = (37 * at) % 190, (23 * at) % 160
        picture = np.asarray(scene[top : top + HEIGHT, left : left + WIDTH].copy(), np.uint8)
        if place is not None:
            way = cv2.getRotationMatrix2D((199.5, 112), -place.turn, 1.0)
            way[:, 2] += np.array([place.right * 4, place.down * 4])
            seen = cv2.warpAffine(_body(), way, (WIDTH, HEIGHT))
            picture[seen > 0] = seen[seen > 0]
        out.append(picture)
    return out


def before() -> Luma:
    """The same vehicle's view of another place: the photograph "motorcycle" (scikit-image)."""
    return driving([KEPT], stereo_motorcycle()[0])[0]


def _body() -> Luma:
    body = np.zeros((325, WIDTH), np.uint8)  # there is more of it below the picture
    cv2.rectangle(body, (30, 60), (75, 120), 90, -1)
    cv2.line(body, (34, 116), (71, 64), 160, 3)
    cv2.ellipse(body, (210, 285), (190, 105), 0, 0, 360, 90, -1)
    cv2.ellipse(body, (210, 285), (160, 90), 0, 0, 360, 150, 2)
    return body
