"""Ways to relieve a heavy bass: each tried on the train of a note as it is."""
