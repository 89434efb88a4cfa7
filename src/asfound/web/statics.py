"""The pages' own files: read once, sent compressed, and named by what is in them.

A file's address holds a hash over all of them, so that browsers keep each for ever, and modules
find each other beside themselves. A request never reaches the file system.
"""

from __future__ import annotations

import gzip
import hashlib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

MEDIA_TYPES = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}
FOR_EVER = "public, max-age=31536000, immutable"
"""A year, as long as HTTP caches are asked to keep anything."""


@dataclass(frozen=True)
class Statics:
    """Every static file by name, plain and compressed; ``stamp`` is the hash over all."""

    plain: dict[str, bytes]
    packed: dict[str, bytes]
    stamp: str

    def url(self, name: str) -> str:
        """The address of a file. Raises KeyError for one that is not there."""
        if name not in self.plain:
            raise KeyError(name)
        return f"/static/{self.stamp}/{name}"

    def answer(self, request: Request) -> Response:
        """The file that a request names."""
        name = request.path_params["name"]
        data = self.plain.get(name)
        if data is None or request.path_params["stamp"] != self.stamp:
            return PlainTextResponse("not found", status_code=404)
        headers = {"Cache-Control": FOR_EVER, "Vary": "Accept-Encoding"}
        if "gzip" in request.headers.get("accept-encoding", ""):
            data = self.packed[name]
            headers["Content-Encoding"] = "gzip"
        return Response(data, media_type=_media_type(name), headers=headers)


@cache
def load_statics() -> Statics:
    """Every static file of the package, read once in a process."""
    plain = {
        item.name: item.read_bytes()
        for item in sorted(files("asfound.web").joinpath("static").iterdir(), key=lambda i: i.name)
        if _media_type(item.name)
    }
    digest = hashlib.sha256()
    for name, data in plain.items():
        digest.update(f"{name}\0{len(data)}\0".encode())
        digest.update(data)
    packed = {name: gzip.compress(data, mtime=0) for name, data in plain.items()}
    return Statics(plain, packed, digest.hexdigest()[:16])


def _media_type(name: str) -> str:
    return next((kind for end, kind in MEDIA_TYPES.items() if name.endswith(end)), "")
