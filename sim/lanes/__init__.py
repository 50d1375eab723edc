"""Many designs at once, in lanes."""
