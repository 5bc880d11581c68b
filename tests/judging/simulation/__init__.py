"""An outside check of the lathe's geometry: rotors cut by brute force on a grid, with none of the engine's code."""
