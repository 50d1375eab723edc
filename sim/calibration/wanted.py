"""Which unknowns are asked for where nobody says: those that what was measured usually tells."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from keyaction.sim.calibration.measured import CurveBlock, Measured, TraceBlock
from keyaction.sim.calibration.unknowns import Unknown

_OF_SHEET = ("spring", "friction", "play", "seal", "dip", "load-friction", "twist", "bottom-felt")
"""Most usual first (common practice)."""
_NEEDS: Mapping[str, tuple[str, ...]] = {
    "play": ("play", "point"),
    "dip": ("dip",),
    "seal": ("pluck",),
    "twist": ("point", "pluck"),
    "bottom-felt": ("dip",),
}
"""Figures of which one must be on the sheet."""
_OF_CURVE = ("friction", "load-friction", "spring", "seal", "twist", "play")
_AT_BOTTOM = ("dip", "bottom-felt")
_OF_TRACE = ("friction", "spring", "inertia")
_NEAR = 0.5e-3
"""m above the bottom felt within which a curve tells of it."""
_FREE = 0.15e-3
"""m of play from which a curve shows the key alone."""


def usual(there: Mapping[str, Unknown], measured: Measured) -> tuple[list[Unknown], list[str]]:
    """The unknowns to ask for, and names of those that would be usual but for which too little was measured.

    Parameters
    ----------
    there : mapping of str to Unknown
        Everything that the note has.
    measured : Measured
    """
    names = [name for name in _names(there, measured) if name in there]
    room = measured.count - len(measured.traces) - 1
    kept = names[: max(room, 1)]
    return [there[name] for name in kept], names[len(kept) :]


def _names(there: Mapping[str, Unknown], measured: Measured) -> list[str]:
    names = list[str]()
    if any(block.condition.wind for block in measured.curves):
        names += _OF_CURVE
    elif measured.curves:
        names += [name for name in _OF_CURVE if name not in ("seal", "load-friction")]
    if measured.curves:
        names += _more_of_curve(there, measured.curves)
    if measured.figures:
        names += [name for name in _OF_SHEET if _on_sheet(name, measured.figures)]
    if any(isinstance(block, TraceBlock) for block in measured.blocks):
        names += _OF_TRACE
    return list(dict.fromkeys(names))


def _on_sheet(name: str, figures: Sequence[str]) -> bool:
    return name not in _NEEDS or any(figure in figures for figure in _NEEDS[name])


def _more_of_curve(there: Mapping[str, Unknown], curves: Sequence[CurveBlock]) -> list[str]:
    names = list[str]()
    deepest = max(float(curve.points[-1, 0]) for curve in curves)
    if "dip" in there and deepest > there["dip"].start - _NEAR:
        names += _AT_BOTTOM
    if "play" in there and there["play"].start > _FREE:
        names.append("balance")
    return names
