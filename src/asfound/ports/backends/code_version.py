"""Which version of this program is running: by its own bytes, not by a number someone keeps."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import av
import cv2
import numpy as np
from av import library_versions

from asfound.version import VERSION


@cache
def code_version() -> str:
    """Version of this program by all its own files, and of the libraries that measure."""
    package = Path(__file__).parents[2]
    digest = hashlib.sha256()
    for file in sorted(package.rglob("*")):
        if file.is_file() and file.suffix != ".pyc":
            digest.update(f"{file.relative_to(package).as_posix()}\n".encode())
            digest.update(file.read_bytes())
    libraries = [f"{name} {number}" for name, number in sorted(library_versions.items())]
    libraries += [f"pyav {av.__version__}", f"numpy {np.__version__}", f"opencv {cv2.__version__}"]
    libraries += [f"{name} {_installed(name)}" for name in ("rapidocr", "onnxruntime")]
    return "; ".join([VERSION, digest.hexdigest(), *libraries])


def _installed(name: str) -> str:
    """The version of a package that takes long to load, from what its installer left."""
    try:
        return version(name)
    except PackageNotFoundError:
        return "none"
