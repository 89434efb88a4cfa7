"""Cautions below a result: what can hurt, and who has the last word."""

from __future__ import annotations

from collections.abc import Sequence

from asfound.cli import output
from asfound.ports.backends.cautions_toml import load_cautions


def say_cautions(ids: Sequence[str]) -> None:
    """A line for each; a visit's step and the pages show them whole."""
    cautions = load_cautions()
    for name in ids:
        caution = cautions[name]
        output.say(f"caution: {caution.title}. The last word has: {caution.defers_to}")
