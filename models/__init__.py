"""keyaction."""
