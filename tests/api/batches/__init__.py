"""Batches of verdicts."""
