"""A run over the notes of a case."""
