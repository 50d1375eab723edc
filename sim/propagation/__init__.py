"""Propagation of uncertainty through any function of independent inputs: to first and second order, and drawn."""
