"""Settings that all tests share."""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile(
    "default", deadline=None, max_examples=150, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
settings.register_profile("thorough", parent=settings.get_profile("default"), max_examples=5000, derandomize=False)
settings.load_profile(os.environ.get("TURNRULE_TEST_PROFILE", "default"))


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Where no test may be skipped, a skipped one fails the run."""
    if not os.environ.get("TURNRULE_TEST_NO_SKIP"):
        return
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    skipped = reporter.stats.get("skipped", []) if reporter is not None else []
    if skipped:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
        print(f"\n{len(skipped)} skipped, and none may be")  # noqa: T201 - the run's own last word
