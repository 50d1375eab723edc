"""Pictures of a sweep."""
