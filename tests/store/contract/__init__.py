"""What every adapter of the store promises."""
