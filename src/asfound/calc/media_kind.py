"""What a file is, by its first bytes; its name says nothing that can be trusted."""

from __future__ import annotations

from asfound.model.upload import MediaKind

ENOUGH = 16
"""Bytes that tell."""

_STILL_BRANDS = frozenset(
    {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"avif", b"avis"}
)
"""Brands of HEIF (ISO/IEC 23008-12) and AVIF; any other ISO base media file is a clip. Its first
box is short: the two upper bytes of its size are zero."""

_STILLS = (b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
"""JPEG (ISO/IEC 10918-1, SOI and a marker), PNG (W3C PNG, 5.2), TIFF 6.0 and BigTIFF."""

_MATROSKA = b"\x1a\x45\xdf\xa3"
"""EBML (RFC 8794, 11.2.1): Matroska and WebM."""


def media_kind(head: bytes) -> MediaKind | None:
    """Photograph or clip, by the first ``ENOUGH`` bytes; None for anything else."""
    if head.startswith(_STILLS):
        return "photograph"
    if head[:4] == b"RIFF" and head[8:12] in (b"WEBP", b"AVI "):
        return "photograph" if head[8:12] == b"WEBP" else "clip"
    if head[:2] == b"\0\0" and head[4:8] == b"ftyp":
        return "photograph" if head[8:12] in _STILL_BRANDS else "clip"
    if head.startswith(_MATROSKA):
        return "clip"
    if head[:2] == b"BM" and head[6:10] == b"\0\0\0\0":
        # A bitmap's two reserved fields are zero (BITMAPFILEHEADER, from memory).
        return "photograph"
    return None


def clip_suffix(head: bytes) -> str:
    """The ending that a clip's container usually has, with its dot."""
    if head.startswith(_MATROSKA):
        return ".mkv"
    return ".avi" if head[:4] == b"RIFF" else ".mp4"
