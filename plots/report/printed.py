"""What printed pages need: texts of others inside a style, and how many rows of a table stand on one page."""

from __future__ import annotations

_MOST = 62
"""Rows that a page of A4 holds."""


def css_text(text: str) -> str:
    """A text as the inside of a CSS string in a style element: everything but plain words is escaped."""
    return "".join(c if c.isascii() and (c.isalnum() or c in " ,.") else f"\\{ord(c):x} " for c in text)


def rows_a_page(count: int, most: int = _MOST) -> int:
    """Rows of a table that stand on one printed page: all, or as many on each of as few pages as hold them."""
    return max(-(-count // max(-(-count // most), 1)), 1)
