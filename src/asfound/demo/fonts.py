"""Fonts of the simulated monitor, found by file name below the usual folders."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from PIL import ImageFont

from asfound.errors import MissingPart

FOLDERS = (
    "/usr/share/fonts",
    "/usr/local/share/fonts",
    "~/.local/share/fonts",
    "~/.fonts",
    "/opt/homebrew/share/fonts",
    "/Library/Fonts",
)

# File -> the Debian package that brings it.
PACKAGES = {
    "DejaVuSans.ttf": "fonts-dejavu-core",
    "DejaVuSans-Bold.ttf": "fonts-dejavu-core",
    "DejaVuSansMono.ttf": "fonts-dejavu-core",
    "DejaVuSansMono-Bold.ttf": "fonts-dejavu-core",
    "LiberationSans-Regular.ttf": "fonts-liberation",
    "LiberationSans-Bold.ttf": "fonts-liberation",
    "LiberationMono-Regular.ttf": "fonts-liberation",
    "LiberationMono-Bold.ttf": "fonts-liberation",
    "terminus-bold.otb": "fonts-terminus-otb",
    "FreeSans.ttf": "fonts-freefont-ttf",
    "FreeSansBold.ttf": "fonts-freefont-ttf",
    "FreeMonoBold.ttf": "fonts-freefont-ttf",
    "Hack-Regular.ttf": "fonts-hack",
    "Hack-Bold.ttf": "fonts-hack",
    "Inconsolata.otf": "fonts-inconsolata",
    "unifont.otf": "fonts-unifont",
}

# Bitmap fonts exist in these heights only (pixels).
_BITMAP_SIZES = {"terminus-bold.otb": (14, 16, 18, 20, 22, 24, 28, 32)}


@cache
def font_path(name: str) -> Path:
    """Where the font file ``name`` lies. Raises MissingPart that says what to install."""
    for folder in (Path(text).expanduser() for text in FOLDERS):
        if folder.is_dir():
            found = sorted(folder.rglob(name))
            if found:
                return found[0]
    package = PACKAGES.get(name, "a package that brings it")
    raise MissingPart(
        f"font {name} of the simulated monitor is not installed; "
        f"run: apt-get install -y --no-install-recommends {package}"
    )


@cache
def font(name: str, px: int) -> ImageFont.FreeTypeFont:
    """The font at ``px`` pixels; a bitmap font at its next smaller size. Raises MissingPart."""
    sizes = _BITMAP_SIZES.get(name)
    if sizes:
        px = max((size for size in sizes if size <= px), default=sizes[0])
    return ImageFont.truetype(font_path(name), px, layout_engine=ImageFont.Layout.BASIC)
