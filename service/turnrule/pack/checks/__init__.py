"""The checks of a pack, one a module; each gives a sentence for each fault."""
