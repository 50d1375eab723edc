"""Quantities with units: read, converted and written."""
