"""Tests of the command line, run as a person would run it."""
