"""Equilibria: the static press and the weigh-off."""
