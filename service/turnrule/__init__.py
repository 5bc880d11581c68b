"""Limits for worn brake rotors and drums, and a service that judges measurements against them."""

__version__ = "0.1.0"
