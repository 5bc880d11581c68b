"""Tests of the quote check: each line against what is known of its part, both sides together, prices, laws."""
