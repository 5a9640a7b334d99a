"""How hypothesis runs here: never against the clock, and the same examples every time.

HYPOTHESIS_PROFILE=wander draws twice as many, and new ones on every run; do that before a landing, and keep what it
finds as a test of its own.
"""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

settings.register_profile(
    "steady", max_examples=50, deadline=None, derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip
settings.register_profile("wander", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))
