"""Variants of an action side by side."""
