"""A second, independent judgement of the same rules, held against the engine case by case."""
