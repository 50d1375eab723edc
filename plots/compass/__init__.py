"""Pictures over the compass."""
