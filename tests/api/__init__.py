"""The HTTP API, over a real store and the real pack."""
