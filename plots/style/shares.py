"""How the shares of a budget look: one colour and hatching for each part, the same in every picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from keyaction.plots.style.pens import BLUE, GREEN, ORANGE, PURPLE, SKY, VERMILLION, YELLOW

_COLORS = (SKY, VERMILLION, YELLOW, BLUE, ORANGE, GREEN, PURPLE)
"""Light and dark by turns, so that neighbours differ without colour."""
_HATCHES = ("", "///", "\\\\\\", "xxx")
_KINDS = {"ends": "....", "bending": "----"}
"""Hatching by how a part gives way."""
_NO_PART = "#b9b9b9"


@dataclass(frozen=True)
class Fill:
    """Colour and hatching of an area."""

    color: str
    hatch: str


def fill(name: str, part: str, parts: Sequence[str]) -> Fill:
    """How a share is drawn.

    Parameters
    ----------
    name : str
        A part, or a share of its giving way: ``"drop ends"``, ``"roller twist"``, ``"key bending"``.
    part : str
        The part that it belongs to; empty if to none.
    parts : sequence of str
        All parts in train order.
    """
    known = list(parts)
    if not part:
        return Fill(_NO_PART, "" if name == "lost motion" else "xxx")
    i = known.index(part)
    own = _HATCHES[i // len(_COLORS) % len(_HATCHES)]
    return Fill(_COLORS[i % len(_COLORS)], _KINDS.get(name.removeprefix(f"{part} "), own))
