"""The desk of these tests is the one that the API's tests use."""

from __future__ import annotations

from tests.api.conftest import clock, desk, pack

__all__ = ["clock", "desk", "pack"]
