"""Pictures of a chord."""
