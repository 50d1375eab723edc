"""The rail that floats: where all notes of a division hold it together, at rest and in the motion."""
