"""Every limit and constant with its document, clause and year."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Source:
    """Where a value comes from; ``how`` is "read", "memory" or "common practice"."""

    document: str
    clause: str = ""
    year: int | None = None
    how: str = "read"

    def cite(self) -> str:
        """One line for tables and reports."""
        parts = [self.document, self.clause, str(self.year) if self.year else ""]
        return ", ".join(part for part in parts if part)


@dataclass(frozen=True, slots=True)
class Limit:
    """A value with its unit ("1" for a ratio) and its source."""

    value: float
    unit: str
    source: Source


_BLACKDETECT = Source("FFmpeg libavfilter/vf_blackdetect.c", "default options")
_FREEZEDETECT = Source("FFmpeg libavfilter/vf_freezedetect.c", "default options")
_EBU_ONE_COLOUR = Source("EBU QC item 0016B v2.0.0", "example settings")

BLACK_SECONDS = Limit(2.0, "s", _BLACKDETECT)
"""A picture must be black at least this long (black_min_duration)."""
BLACK_PICTURE_SHARE = Limit(0.98, "1", _BLACKDETECT)
"""Share of black pixels that makes a picture black (picture_black_ratio_th)."""
BLACK_LUMA_SHARE = Limit(0.10, "1", _BLACKDETECT)
"""Share of the luma range up to which a pixel is black (pixel_black_th)."""
FREEZE_SECONDS = Limit(2.0, "s", _FREEZEDETECT)
"""A picture must stand still at least this long (duration)."""
FREEZE_DIFFERENCE = Limit(0.001, "1", _FREEZEDETECT)
"""Mean absolute difference, as a share of full scale, up to which pictures are the same (noise)."""
ONE_COLOUR_AREA = Limit(0.90, "1", _EBU_ONE_COLOUR)
"""Share of the area that one colour fills."""
ONE_COLOUR_TOLERANCE = Limit(0.105, "1", _EBU_ONE_COLOUR)
"""Share of the range within which values are one colour."""
ONE_COLOUR_SECONDS = Limit(2.0, "s", Source("as long as black", how="common practice"))
"""One colour for this long is no passing flash; the EBU item's example is 3 frames."""
HEADER_SECONDS = Limit(
    0.5, "s", Source("MP4 and Matroska times are exact to the picture", how="common practice")
)
"""A recording that ends this much before its header says is cut off."""
DECODER_ERRORS = Limit(0.0, "1", Source("decoder's error reports", how="common practice"))
"""Pictures with decoding errors that a sound recording has."""

_KLM = Source(
    "Card, Moran, Newell: The keystroke-level model, Comm. ACM 23(7)", "table of operators", 1980
)
MENTAL_SECONDS = Limit(1.35, "s", _KLM)
"""Mental preparation before a unit of work (operator M)."""
KEY_FIRST_SECONDS = Limit(0.50, "s", _KLM)
"""Press of a key that has to be found by eye (operator K, "typing random letters")."""
KEY_REPEAT_SECONDS = Limit(0.28, "s", _KLM)
"""Further press of the key under the finger (operator K, average non-secretary typist)."""
