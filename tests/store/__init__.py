"""Tests of the store: the contract of its port, and what only one adapter promises."""
