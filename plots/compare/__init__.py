"""Pictures of variants side by side."""
