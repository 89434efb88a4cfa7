"""A smear on the monitor's glass, put on a photograph that was taken already."""

from __future__ import annotations

import io

import numpy as np
from PIL import Image, ImageFilter

from asfound.demo.photos import Photo


def smear(photo: Photo, field_id: str, seed: int) -> None:
    """Blur and brighten the middle of a field's value on the stored file; EXIF stays as it is."""
    random = np.random.default_rng(seed)
    with Image.open(photo.path) as image:
        exif = image.info.get("exif", b"")
        picture = image.convert("RGB")
    corners = np.array(photo.boxes[field_id])
    middle = corners.mean(axis=0) + random.normal(0, 1, 2)
    width = float(np.linalg.norm(corners[1] - corners[0]))
    height = float(np.linalg.norm(corners[3] - corners[0]))
    across, up = 0.16 * width + 0.5 * height, 0.75 * height
    rows, columns = np.mgrid[0 : picture.height, 0 : picture.width]
    along = (corners[1] - corners[0]) / max(width, 1.0)
    dx, dy = columns - middle[0], rows - middle[1]
    u, v = dx * along[0] + dy * along[1], -dx * along[1] + dy * along[0]
    strength = np.exp(-(((u / across) ** 2 + (v / up) ** 2) ** 1.5))[..., None]
    soft = picture.filter(ImageFilter.GaussianBlur(0.55 * height))
    bright = np.asarray(soft, dtype=float) * 0.6 + 105.0
    mixed = np.asarray(picture, dtype=float) * (1 - strength) + bright * strength
    out = io.BytesIO()
    Image.fromarray(np.clip(mixed, 0, 255).astype(np.uint8)).save(
        out, "JPEG", quality=90, exif=exif
    )
    photo.path.write_bytes(out.getvalue())
