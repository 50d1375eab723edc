"""What a builder measures on site: its figures, its errors, and the readings of a sheet."""
