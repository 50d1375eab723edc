"""The plucks of a key that opens several pallets, and the same key alone, for the feel curve."""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from keyaction.models.units.quantity import System, format_value
from keyaction.plots.style.labels import Mark
from keyaction.plots.style.page import shown
from keyaction.plots.style.pens import INK
from keyaction.sim.figures.pallets import figure, has_pallets, pallets_of
from keyaction.sim.files.labelled import Result

_ALONE, _UP = "#8f8f8f", (0, (4, 1.5))
_UNDER = 1.4
"""Order of drawing of the key alone: over the work lost, under the coupled curve."""
_TOGETHER = 5e-6
"""m: pluck points that differ by less are one."""
_LETTERS = 16
"""Letters in a line of a label."""
MARKERS = ("o", "s", "^", "D", "v", "P", "X")


@dataclass(frozen=True)
class Pluck:
    """Where one pallet, or several at once, leave their seats: what they are called, travel in m, peak in N, marker."""

    label: str
    point: float
    peak: float
    marker: str


def plucks(result: Result, row: int) -> list[Pluck]:
    """The plucks of a note in the order in which they come; none where it opens a single pallet or tells of none."""
    if not has_pallets(result) or len(pallets_of(result, row)) < 2:
        return []
    points, peaks = (figure(result, name)[row] for name in ("pallet_pluck_point", "pallet_pluck_force"))
    there = [one for one in pallets_of(result, row) if math.isfinite(points[one.place])]
    found: list[Pluck] = []
    for one in sorted(there, key=lambda one: float(points[one.place])):
        point, peak = float(points[one.place]), float(peaks[one.place])
        if found and point - found[-1].point < _TOGETHER:
            last = found.pop()
            found.append(Pluck(f"{last.label} and {one.label}", last.point, max(last.peak, peak), last.marker))
        else:
            found.append(Pluck(one.label, point, peak, MARKERS[one.place % len(MARKERS)]))
    return found


def mark_plucks(axes: Axes, found: list[Pluck], units: System) -> tuple[list[Mark], list[Mark]]:
    """Draw a mark at each pluck; what is to be named along the key's way, and beside the force."""
    ways, forces = [], []
    for one in found:
        at, force = float(shown(one.point, "m", units)[0]), float(shown(one.peak, "N", units)[0])
        axes.plot([at], [force], one.marker, markersize=7, markerfacecolor="white", markeredgecolor=INK, zorder=5)
        ways.append(Mark(at, f"{_short(one.label)}\nplucks {format_value(one.point, 'm', units)}"))
        forces.append(Mark(force, f"{_short(f'peak, {one.label}')}\n{format_value(one.peak, 'N', units)}"))
    return ways, forces


def _short(label: str) -> str:
    return "\n".join(textwrap.wrap(label, _LETTERS, max_lines=2, placeholder=" ..."))


def draw_alone(axes: Axes, result: Result, row: int, units: System) -> None:
    """The slow press of the same key with no coupler drawn, faint; nothing where the result has none."""
    if "alone_down_travel" not in result or not np.any(np.isfinite(result["alone_down_travel"][row])):
        return
    for side, dash, label in (("down", "-", "the same key alone"), ("up", _UP, "_alone, up")):
        way, force = (
            shown(result[f"alone_{side}_{what}"][row], unit, units)[0]
            for what, unit in (("travel", "m"), ("force", "N"))
        )
        axes.plot(way, force, color=_ALONE, linewidth=1.3, linestyle=dash, zorder=_UNDER, label=label)
