"""Tests of the axle: the difference of its two sides, the pair rule, and who is the reason for what."""
