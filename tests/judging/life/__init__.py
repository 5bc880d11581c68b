"""Tests of the life that is left: wear, its bound, services, heat, cost, and what repeated readings say of a gauge."""
