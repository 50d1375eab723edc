"""Regulating couplers: the play that keeps the plucks apart and lets the driven pallets open."""
