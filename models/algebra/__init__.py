"""Symbols, force laws, Lagrange's equations and their dimensions: no part of the trade is known here."""
