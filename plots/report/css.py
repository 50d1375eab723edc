"""Texts of others inside a page's style."""

from __future__ import annotations


def css_text(text: str) -> str:
    """A text as the inside of a CSS string in a style element: everything but plain words is escaped."""
    return "".join(c if c.isascii() and (c.isalnum() or c in " ,.") else f"\\{ord(c):x} " for c in text)
