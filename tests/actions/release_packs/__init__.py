"""Release packs, written and read with real stores and real files."""
