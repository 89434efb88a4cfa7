"""The dark theme differs from the light one in colours alone, so that the browser tests need not
look at anything else twice.

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
