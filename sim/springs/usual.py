"""What a wire may bear."""

YIELD = 0.6
"""Yield over tensile strength of spring wire, as in V. B. Bhandari, Design of Machine Elements, Ex. 10.21."""
