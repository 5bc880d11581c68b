"""Measurements as commands: each prints a small table and judges nothing, since a figure belongs to its machine."""
