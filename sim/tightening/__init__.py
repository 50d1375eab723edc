"""A note as one of its rods is drawn tighter or slacker: where it rests and what its touch is at every stretch."""
