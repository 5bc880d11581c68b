"""The use cases, over a real store and the real pack."""
