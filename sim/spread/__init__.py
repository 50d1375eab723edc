"""How far the figures of a case can be off: its designs drawn from the spreads of all that is uncertain."""

DRAWS, FEWEST, MOST = 100, 2, 10_000
"""How many draws there are unless it is said, and may be."""
