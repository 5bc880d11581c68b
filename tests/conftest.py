"""Settings that all tests share."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

settings.register_profile(
    "default", deadline=None, max_examples=300, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
settings.register_profile("thorough", parent=settings.get_profile("default"), max_examples=5000, derandomize=False)
settings.load_profile(os.environ.get("TURNRULE_TEST_PROFILE", "default"))
