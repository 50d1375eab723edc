"""How far the figures of a case can be off: its designs drawn from the spreads of all that is uncertain."""
