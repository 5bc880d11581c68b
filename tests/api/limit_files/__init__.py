"""Files of limits: read, written, explained."""
