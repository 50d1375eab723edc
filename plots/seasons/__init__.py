"""Pictures of a year: one note, the compass, the rail."""
