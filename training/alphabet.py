"""Characters that the recogniser can tell, in the order of its outputs; output 0 is CTC's blank.

Three stand for drawings: "…" a leader of dots, "◄" and "►" arrows and chevrons of any make, "■" any
other drawn thing beside a text (lamp, tick box, bar).
"""

from __future__ import annotations

LETTERS = "".join(chr(code) for code in range(0x20, 0x7F))
LATIN = "ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÑÒÓÔÕÖØÙÚÛÜÝßàáâãäåæçèéêëìíîïñòóôõöøùúûüýÿ°±²³µ€£§–•×"
DRAWN = "…◄►■"
ALPHABET = LETTERS + LATIN + DRAWN
INDEX = {character: number + 1 for number, character in enumerate(ALPHABET)}
