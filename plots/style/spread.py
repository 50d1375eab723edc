"""Bands within which most draws of a case lie, beside the figures of the case itself."""

from __future__ import annotations

import json

import numpy as np
from matplotlib.axes import Axes

from keyaction.models.units.quantity import System
from keyaction.plots.style.page import Floats, shown
from keyaction.sim.figures.limits import FEW
from keyaction.sim.files.labelled import Result

_EDGE, _FILL, _DOTS = "#2b7fb0", "#cfe7f6", "#8fc3e4"
"""Edges of a feel curve's band, what is between them, and the dots of the way up; none lets another colour through."""
_UNDER, _OVER = 0.5, 1.6
"""Order of drawing: the band under what is shaded between the curves, its edges over it."""
_UP = (0, (4, 1.5))


def drawn(result: Result) -> bool:
    """Whether the result has the spread of its figures."""
    return "quantile" in result and "spread" in result.about


def shares(result: Result) -> str:
    """What a band holds, in words: "5 to 95 % of 100 draws"."""
    low, high = (100.0 * float(one) for one in (result["quantile"][0], result["quantile"][-1]))
    return f"{low:.0f} to {high:.0f} % of {_draws(result)} draws"


def _draws(result: Result) -> int:
    return int(json.loads(result.about["spread"])["draws"])


def band_told(result: Result, row: int) -> str:
    """What must be known of a feel curve's band, in sentences; empty without one."""
    if _row(result, row) is None:
        return ""
    few = f" {_draws(result)} draws are few: the true band may be much wider; take {FEW} or more."
    told = "\nBand: draws laid pluck on pluck and felt on felt; bar: where they pluck."
    return told + (few if _draws(result) < FEW else "")


def _row(result: Result, row: int) -> int | None:
    """Where the note is among those of which feel curves were drawn."""
    names = list(result["spread_note"]) if drawn(result) and "spread_note" in result else []
    return names.index(result.notes[row]) if result.notes[row] in names else None


def feel_band(axes: Axes, result: Result, row: int, units: System) -> bool:
    """Lay the bands of the slow press, down and up, under its curves; whether there are any.

    Parameters
    ----------
    axes : Axes
    result : Result
    row : int
        Of the note.
    units : {"trade", "si"}
    """
    at = _row(result, row)
    if at is None:
        return False
    way, _ = shown(result["band_travel"][at], "m", units)
    for side, hatch, dash in (("down", "", "-"), ("up", "....", _UP)):
        forces, _ = shown(result[f"feel_{side}_band"][at], "N", units)
        label = f"{shares(result)} (dotted: up)" if side == "down" else "_up"
        filled = axes.fill_between(way, forces[0], forces[-1], facecolor=_FILL, edgecolor=_DOTS, label=label)
        filled.set(linewidth=0.0, zorder=_UNDER, hatch=hatch)
        for edge in (forces[0], forces[-1]):
            axes.plot(way, edge, color=_EDGE, linewidth=0.6, linestyle=dash, zorder=_OVER, label="_edge")
    return True


def pluck_bar(axes: Axes, result: Result, row: int, height: float, units: System) -> None:
    """A bar from the lower to the upper edge of the pluck point's band, at a height in the reader's unit."""
    if _row(result, row) is None or "pluck_point_spread" not in result:
        return
    ends, _ = shown(result["pluck_point_spread"][row][[0, -1]], "m", units)
    if np.all(np.isfinite([*ends, height])):
        axes.plot(ends, [height, height], "|-", color=_EDGE, linewidth=1.4, markersize=9, zorder=4, label="_bar")


def highest(result: Result, row: int, units: System, end: float) -> float:
    """Upper edge of the band before a key travel `end`, both in the reader's units; 0 without a band."""
    at = _row(result, row)
    if at is None:
        return 0.0
    way, _ = shown(result["band_travel"][at], "m", units)
    forces, _ = shown(result["feel_down_band"][at, -1], "N", units)
    return float(np.nanmax(np.where(way < end, forces, np.nan), initial=0.0))


def compass_band(axes: Axes, result: Result, name: str, color: str, units: System) -> None:
    """Upright strokes over the notes from the lower to the upper edge of a quantity's band, where it has one."""
    band = f"{name}_spread"
    if not drawn(result) or band not in result:
        return
    edges: Floats = shown(np.asarray(result[band], dtype=float), result.held(band).unit, units)[0]
    low, high = edges[:, 0], edges[:, -1]
    told = shares(result)
    label = f"_{told}" if told in axes.get_legend_handles_labels()[1] else told
    axes.vlines(result["semitone"], low, high, color=color, alpha=0.4, linewidth=2.4, zorder=1, label=label)


def steps_told(result: Result) -> str:
    """What the draws say of steps between neighbours, as a line of its own; empty without them."""
    if not drawn(result) or not np.any(result["steps_known"]):
        return ""
    share = float(np.sum(result["steps_felt"]) / np.sum(result["steps_known"]))
    low, high = np.quantile(result["steps_felt"], (0.05, 0.95))
    few = f" ({_draws(result)} are few)" if _draws(result) < FEW else ""
    return f"drawn: {share:.0%} of the steps do, in most draws {low:.0f} to {high:.0f}{few}".replace("%", " %")
