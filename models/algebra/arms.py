"""The end of an arm: a port that goes as its body turns."""

from __future__ import annotations

import sympy as sp

from keyaction.models.algebra.builder import Builder, Coordinate, Expr, Port
from keyaction.models.algebra.names import Name


def arm(builder: Builder, coordinate: Coordinate, base: str, along: tuple[Expr, Expr], pin: Name | None) -> Port:
    """A port at the end of an arm: s(q) = r [sin(q + delta) - sin(delta)].

    The rod is long compared with the arm; its own swing adds a relative error of about
    (r / L) (1 - cos q), below 1 % for rods longer than the arm and strokes up to 0.14 rad.
    """
    r = builder.param(f"r_{base}", "m", f"{base} arm")
    delta = builder.param(f"delta_{base}", "rad", f"{base} arm, angle past square at rest, below zero before it")
    travel = r * (sp.sin(coordinate.q + delta) - sp.sin(delta))
    return Port(f"{coordinate.name}.{base}", coordinate, travel, along, pin)
