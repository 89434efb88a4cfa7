"""Tag files, manifests and signature of a bag whose payload is written (RFC 8493 2.1, 2.2)."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from asfound.calc.bag_names import written
from asfound.calc.plain_text import plain
from asfound.jobs.bag_verify import SIGNATURE, TAG_MANIFEST
from asfound.ports.bags import NewBag
from asfound.ports.signatures import KeyPair, Signatures
from asfound.version import VERSION

MANIFEST = "manifest-sha256.txt"


@dataclass(frozen=True, slots=True)
class Payload:
    """Checksums (SHA-256, hexadecimal) by name, and bytes in all; ``began`` is aware."""

    sums: Mapping[str, str]
    size: int
    began: datetime


def seal(
    bag: NewBag,
    payload: Payload,
    info: Mapping[str, str],
    more: Mapping[str, bytes],
    *,
    key: KeyPair,
    signatures: Signatures,
) -> None:
    """Write tag files (``info`` goes into bag-info.txt, ``more`` are further ones), manifests and
    the signature over them; ``bag.finish`` is left to the caller. Raises StorageError."""
    lines = {
        "Bag-Software-Agent": f"asfound {VERSION}",
        "Bagging-Date": f"{payload.began.astimezone(UTC):%Y-%m-%d}",
        **info,
        "Payload-Oxum": f"{payload.size}.{len(payload.sums)}",
    }
    tags = {
        "bagit.txt": b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
        "bag-info.txt": "".join(
            f"{name}: {plain(text)}\n" for name, text in lines.items()
        ).encode(),
        **more,
        MANIFEST: _manifest(payload.sums),
    }
    for name, data in tags.items():
        bag.write(name, data)
    listed = {name: hashlib.sha256(data).hexdigest() for name, data in tags.items()}
    tag_manifest = _manifest(listed)
    signed = signatures.sign(key.secret, tag_manifest)
    bag.write(TAG_MANIFEST, tag_manifest)
    bag.write(SIGNATURE, f"public: {key.public.hex()}\nsignature: {signed.hex()}\n".encode("ascii"))


def _manifest(sums: Mapping[str, str]) -> bytes:
    return "".join(f"{sums[name]}  {written(name)}\n" for name in sorted(sums)).encode("utf-8")
