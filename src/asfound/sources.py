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
SILENCE_LEVEL = Limit(
    -60.0, "dB", Source("FFmpeg libavfilter/af_silencedetect.c", "default options")
)
"""Level re full scale up to which sound is silence (noise)."""
HEADER_SECONDS = Limit(
    0.5, "s", Source("MP4 and Matroska times are exact to the picture", how="common practice")
)
"""A recording that ends this much before its header says is cut off."""
COUNTED_PICTURES = Limit(
    1.5,
    "pictures",
    Source("AVI RIFF File Reference, dwLength: the stream's length in chunks", how="memory"),
)
"""Where the header counts pictures, and places in the file are their only times, an AVI that lacks
more has lost some inside."""
DECODER_ERRORS = Limit(0.0, "1", Source("decoder's error reports", how="common practice"))
"""Pictures with decoding errors that a sound recording has."""

_OWN = Source("own choice, held by benchmarks/prove_faults.py", how="common practice")
PICTURE_FAULT_SECONDS = Limit(4.0, "s", _OWN)
"""Picture faults that pass sooner are glare, a wiper, a gust of spray."""
BLUR_SIGMA = Limit(
    0.95,
    "px of a picture 320 wide",
    Source("measure: Zhuo, Sim, Pattern Recognition 44(9); limit: own choice", "3", 2011, "memory"),
)
"""Standard deviation of the blur of the sharper edges: about 0.3 % of the picture's width."""
COVERED_AREA = Limit(0.04, "1", _OWN)
"""Share of the picture, borders of what covers it not counted, that may be covered."""
WHITE_AREA = Limit(
    0.4,
    "1",
    Source("white: ITU-R BT.709-6 and BT.601-7 (235 of 16 to 235); share: own choice", "", 2015,
           "memory"),
)  # fmt: skip
"""Share of pixels clipped at white: a clipped sky takes less of a picture."""
LIGHTS_LEVEL = Limit(
    0.25,
    "1",
    Source("range: ITU-R BT.709-6 and BT.601-7 (16 to 235); share: own choice", "", 2015, "memory"),
)
"""The brightest lights, as a share of the range, of a picture that is exposed too little."""
NOISE_SIGMA = Limit(
    5.0,
    "code values",
    Source("measure: Immerkaer, CVIU 64(2); limit: own choice", "", 1996, "memory"),
)
"""Noise after coding: a peak signal-to-noise ratio of 34 dB."""
SEAM_WIDTH = Limit(0.35, "1", _OWN)
"""Share of the width along which luma jumps at a seam."""
SEAM_SHIFT = Limit(2.0, "% of the width", _OWN)
"""Shift by which the rows below a seam fit those above it."""
AIM_SHIFT = Limit(3.0, "% of the width", _OWN)
"""Shift of a camera's aim: 3 degrees of a lens that sees 100."""
AIM_TURN = Limit(2.0, "degrees", _OWN)
"""Turn of a camera about its axis."""
AIM_IN_PLACE = Limit(0.15, "1", _OWN)
"""Share of the edges of the vehicle's own parts that a camera that kept its aim shows in place;
dirt that hides some of them leaves more."""
CLOCK_OFFSET_SECONDS = Limit(
    5.0, "s", Source("file times are whole seconds, written a little late", how="common practice")
)
"""A burned-in clock that is off its file's time by more than this is a finding."""

_KLM = Source(
    "Card, Moran, Newell: The keystroke-level model, Comm. ACM 23(7)", "table of operators", 1980
)
MENTAL_SECONDS = Limit(1.35, "s", _KLM)
"""Mental preparation before a unit of work (operator M)."""
KEY_FIRST_SECONDS = Limit(0.50, "s", _KLM)
"""Press of a key that has to be found by eye (operator K, "typing random letters")."""
KEY_REPEAT_SECONDS = Limit(0.28, "s", _KLM)
"""Further press of the key under the finger (operator K, average non-secretary typist)."""
