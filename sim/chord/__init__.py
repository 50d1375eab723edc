"""Many notes at once, joined through the wind of their boxes."""
