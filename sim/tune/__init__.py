"""The pallet spring of every note for a target."""
