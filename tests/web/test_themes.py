"""The dark theme differs from the light one in colours alone, and sizes of screens in anything
but colours, so that the browser tests need not look at everything four times.

``light-dark()`` stands for a colour and nothing else (CSS Color Module Level 5, section 14), and
picks by ``color-scheme``; no style sheet, script or template asks for the theme in another way.
"""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path

WEB = Path(str(files("asfound.web")))
ASKS = re.compile(r"prefers-color-scheme")
RULE = re.compile(r"[^{}]*\[data-theme[^{}]*{([^}]*)}")


def test_a_theme_changes_colours_alone() -> None:
    sheets = sorted((WEB / "static").glob("*.css"))
    assert any("light-dark(" in sheet.read_text() for sheet in sheets)
    for path in (*sheets, *(WEB / "static").glob("*.js"), *WEB.rglob("*.j2")):
        assert not ASKS.search(path.read_text()), path
    for sheet in sheets:
        for said in RULE.findall(sheet.read_text()):
            assert re.fullmatch(r"\s*color-scheme: [a-z ]+;?\s*", said), said


WIDTHS = re.compile(r"@media[^{]*-width[^{]*{")
COLOURS = re.compile(r"(?<![-\w])(?:color|background(?:-color)?|fill|opacity|filter):[^;}]*")


def test_a_size_changes_no_colours() -> None:
    asked = 0
    for sheet in sorted((WEB / "static").glob("*.css")):
        text = sheet.read_text()
        for found in WIDTHS.finditer(text):
            asked += 1
            said = COLOURS.findall(block(text, found.end()))
            assert not [one for one in said if not one.endswith("none")], (sheet.name, said)
    assert asked


def block(text: str, start: int) -> str:
    """What stands from ``start`` to the brace that closes it."""
    depth = 1
    for at in range(start, len(text)):
        depth += {"{": 1, "}": -1}.get(text[at], 0)
        if not depth:
            return text[start:at]
    raise AssertionError("a brace is not closed")
