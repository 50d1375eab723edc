"""The parts of one note joined, and the equations of their motion."""
