"""Logs of a vehicle keep their columns together."""

from __future__ import annotations

import numpy as np
import pytest

from asfound.model.drive_log import Acceleration, Label, Track


def test_columns_of_one_length() -> None:
    times = np.arange(3.0)
    assert len(Acceleration(times, np.zeros((3, 3)))) == 3
    assert len(Track(times, times, times, times, times)) == 3
    with pytest.raises(ValueError, match="accelerations"):
        Acceleration(times, np.zeros((2, 3)))
    with pytest.raises(ValueError, match="one length"):
        Track(times, times, times[:2], times, times)


def test_a_label_ends_after_it_begins() -> None:
    assert Label(1.0, 1.0, "kerb").kind == "kerb"
    with pytest.raises(ValueError, match="ends before"):
        Label(2.0, 1.0, "kerb")
