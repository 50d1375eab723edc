"""An action over a year: what moves, what follows at the key, and what to do about it."""
