"""Symbols, force laws, Lagrange's equations and their dimensions: no part of the trade is known here.

What parts assemble their equations from can be had from here by name; SymPy is loaded with the first of them.
"""

from __future__ import annotations

from typing import Any

_PLACES = {
    "arms": ("arm",),
    "builder": ("IN", "OUT", "Port", "Shift", "Valve"),
    "laws": ("Bar", "Felt", "Preloaded", "Pull", "in_series", "orifice_flow"),
    "names": ("FINGER", "RIDER", "SHARED", "Name"),
    "symbols": ("Rational", "cos", "larger", "pos", "sin"),
}


def __getattr__(name: str) -> Any:
    from importlib import import_module

    for module, names in _PLACES.items():
        if name in names:
            return getattr(import_module(f"{__name__}.{module}"), name)
    raise AttributeError(f"module '{__name__}' has no attribute '{name}'")
