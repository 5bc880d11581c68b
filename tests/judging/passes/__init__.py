"""Tests of turning: published figures, the splitting of a depth, lathe profiles, and whole plans."""
