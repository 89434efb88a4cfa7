"""Looks at files that are remembered by content and version."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from asfound.errors import InputError
from asfound.jobs.prove_file import FileLook
from asfound.ports.blobs import Blobs
from asfound.ports.documents import from_json, to_json
from asfound.ports.results import Results


@dataclass(frozen=True, slots=True)
class Remembered:
    """Looks under keys made of the file's fingerprint, the version and ``settings``: whatever
    changes what a look finds. ``fresh``: nothing is recalled, all is stored anew."""

    results: Results
    blobs: Blobs | None
    settings: Mapping[str, str]
    fresh: bool = False

    def key(self, file: Path, also: str = "") -> str:
        """The key of a file as it is now; "" when it has none. ``also``: what else changes what
        a look at this file finds."""
        fingerprint = self.results.fingerprint(file)
        if not fingerprint:
            return ""
        said = [f"{name}={value}" for name, value in sorted(self.settings.items())]
        said += [f"also={also}"] if also else []
        text = "\n".join((fingerprint, self.results.version(), *said))
        return hashlib.sha256(text.encode()).hexdigest()

    def recall(self, key: str, file: Path) -> FileLook | None:
        """The look under ``key``, if all its pictures are still there."""
        data = self.results.get(key) if key and not self.fresh else None
        if data is None:
            return None
        try:
            look = from_json(FileLook, data, "a remembered look")
        except InputError as error:
            self.results.reject(key, str(error))
            return None
        if self.blobs is not None and not all(self.blobs.has(name) for name in look.names()):
            return None
        if look.facts is None:
            return look
        # The same content may lie somewhere else by now.
        return replace(look, facts=replace(look.facts, path=file))

    def keep(self, key: str, file: Path, look: FileLook, also: str = "") -> None:
        """Store a look whose pictures are stored, unless the file changed meanwhile."""
        if key and self.key(file, also) == key:
            placeless = look.facts and replace(look.facts, path=Path())
            self.results.put(key, to_json(replace(look, facts=placeless)).encode())
