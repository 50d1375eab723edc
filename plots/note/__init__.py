"""Pictures of one note."""
