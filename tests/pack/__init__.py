"""Tests of the reference pack and its reader."""
