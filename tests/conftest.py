"""Property tests: the same examples on every machine, so that a failure means a change.

To search for new counterexamples: HYPOTHESIS_PROFILE=search pytest tests/calc
"""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("search", deadline=None, max_examples=2000)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))
