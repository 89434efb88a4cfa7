"""Damage that looks sound from outside: sectors of a file overwritten with foreign bytes, as drives
do (common practice, no source)."""

from __future__ import annotations

from pathlib import Path

import pytest

from asfound.model.finding import Kind
from asfound.ports.backends.video_av import AvVideo
from prove import CODINGS, SCENES, NoPictures
from prove_kinds import file_case, score_files


@pytest.mark.parametrize("seed", [700_034, 3_700_004])
def test_a_lost_key_mark_or_a_broken_count_leads_to_the_damage(seed: int, tmp_path: Path) -> None:
    case = file_case(seed, tmp_path, CODINGS, SCENES)
    scored = score_files([case], AvVideo(), NoPictures())
    assert case.fault == "foreign" and scored["missed and wrong"] == []
    kinds = scored["kinds"]
    assert isinstance(kinds, dict) and kinds[Kind.DAMAGED.value]["right"] == 1
