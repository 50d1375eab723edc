"""Texts of Python read as trees, one at a time."""

from __future__ import annotations

import ast
from threading import Lock

_ONE_AT_A_TIME = Lock()
"""Python 3.11 counts the depth of what it reads for all threads together, and stops where two read at once."""


def parsed(text: str) -> ast.Module:
    """The tree of a text."""
    with _ONE_AT_A_TIME:
        return ast.parse(text)
