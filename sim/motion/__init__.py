"""One note's motion: what drives the key, and SciPy's integration."""
