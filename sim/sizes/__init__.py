"""Size of pallets: the smallest opening of each note that feeds its stops, and what it saves at the finger."""
