"""Equations to code: a readable module for one design and for lanes of designs, compiled and kept."""
