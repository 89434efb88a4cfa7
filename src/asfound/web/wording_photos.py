"""Words of the pages for what spoils a photograph, and what to do about it (calc/retake.py)."""

from __future__ import annotations

from asfound.web.step_pages import N_

CAUSES: tuple[str, ...] = (
    N_("glare"),
    N_("a smear on the glass"),
    N_("something in front of it"),
    N_("cut off"),
    N_("a shaken hand"),
    N_("out of focus"),
    N_("blurred"),
    N_("too dark"),
    N_("too small"),
    N_("taken from too far aside"),
    N_("stripes"),
)
"""Every cause of model/retake.py."""

HINTS: tuple[str, ...] = (
    N_("hold the phone with both hands and rest your elbows"),
    N_("tap the screen on the phone to focus, wait a second, then take it"),
    N_("go nearer: the screen should fill the picture"),
    N_("wipe the screen there"),
    N_("keep fingers and cables out of the picture"),
    N_("set the monitor to full brightness, where it flickers least, and take it again"),
    N_("take in the whole screen: its right side is cut off"),
    N_("take in the whole screen: its left side is cut off"),
    N_("take in the whole screen: its lower edge is cut off"),
    N_("take in the whole screen: its upper edge is cut off"),
    N_("hold the phone lower, out of the lamp's reflection"),
    N_("hold the phone higher, out of the lamp's reflection"),
    N_("step to the right, out of the lamp's reflection"),
    N_("step to the left, out of the lamp's reflection"),
    N_("turn the monitor's brightness up, or tap its darkest part on the phone"),
    N_("hold the phone still and tap its screen to focus, then take it"),
)
"""What photographs are mended by; a hint without a translation is shown in English."""
