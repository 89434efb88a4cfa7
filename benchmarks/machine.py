"""The machine that figures were measured on."""

from __future__ import annotations

import os
import platform
import re
from pathlib import Path


def machine() -> dict[str, object]:
    """What the figures were measured on."""
    info = Path("/proc/cpuinfo")
    names = re.findall(r"model name\s*: (.*)", info.read_text()) if info.exists() else []
    return {
        "processor": names[0] if names else platform.processor(),
        "cores": os.cpu_count(),
        "system": platform.platform(),
    }
