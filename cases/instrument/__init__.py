"""Reading an instrument: keyboards, divisions, what they have in common."""
