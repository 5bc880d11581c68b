"""Values that others have published, against which the engine's own functions are held."""
