"""Tests of turnrule; they mirror its rooms."""
