"""Materials with the source of every value."""
