"""Unknowns of a note from what was measured at it: how well they are known, and what to measure next."""
