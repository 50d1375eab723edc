"""Whose a quantity of the equations is, and how its symbol is usually spelled."""

from __future__ import annotations

import re
from dataclasses import dataclass

SHARED = ""
"""In place of a part: what all parts share."""
FINGER, RIDER = "(finger)", "(rider)"
"""In place of a part: what plays, and the mass that is laid on. No part of a case can be called so."""

_PART = re.compile(r"[a-z0-9-]+")
_RESERVED = ("strokes",)
LONGEST = 60
"""Letters of a part's name."""


@dataclass(frozen=True)
class Name:
    """A quantity of the equations: whose it is, what it is, and of which of the part's bodies."""

    part: str
    what: str
    body: str = ""


def part_name_defect(name: object) -> str:
    """Why no part can be called so, in a case or in a train built by hand; empty if it can."""
    if not isinstance(name, str) or not _PART.fullmatch(name):
        return "a name of small letters, digits and hyphens is needed"
    if len(name) > LONGEST:
        return f"a name of at most {LONGEST} letters is needed: pictures and tables show it beside their figures"
    return "this name is taken by the table of the same name; choose another" if name in _RESERVED else ""


def plain(text: str) -> str:
    """A part's name as it stands in a symbol."""
    return text.strip("()").replace("-", "_")


def spelled(name: Name) -> str:
    """The usual spelling of a name; two names may share it."""
    return "_".join(piece for piece in (name.what, plain(name.part), plain(name.body)) if piece)
