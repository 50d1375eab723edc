"""Response surfaces: a quantity over the two inputs that matter most to it, with contours and the error of the fit."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.contour import ContourSet
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray
from scipy.spatial import ConvexHull, QhullError

from keyaction.models.units.quantity import System
from keyaction.plots.study.common import Shown, capital, choose, key, sheet, title
from keyaction.plots.style.page import Floats, Margins, axis_title, explain, in_style, nothing_to_draw
from keyaction.plots.style.pens import FAINT, INK, VERMILLION
from keyaction.sim.analysis.surface import NoSurface, Surface, fit_surface
from keyaction.sim.analysis.view import StudyView
from keyaction.sim.files.labelled import Result

_COLORS = "cividis"
"""J. R. Nuñez, C. R. Anderton and R. S. Renslow, "Optimizing colormaps with consideration for color vision
deficiency to enable accurate interpretation of scientific data", PLOS ONE 13 (2018) e0199239."""
_FINE = 81
_LEVELS = 11
_MOST_DOTS = 400
_MOST_FITTED = 5_000
"""Designs that a surface is fitted to."""
_DESIGNS, _LOST = "designs", "designs without a value"


@in_style
def response_surfaces(
    result: Result,
    note: str,
    quantities: Sequence[str] | None = None,
    inputs: tuple[str, str] | None = None,
    units: System = "trade",
) -> Figure:
    """Draw each quantity over two inputs, the others on average.

    Parameters
    ----------
    result : Result
        Of a study.
    note : str
    quantities : sequence of str, optional
        By default those of the study, at most six.
    inputs : (str, str), optional
        Two numeric inputs; by default for each quantity the two that matter most to it.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        Filled contours within the hull of the designs, dots for the designs, crosses for those without a value.

    Raises
    ------
    KeyError, NotInStudy
        If the study does not hold the note, a quantity or an input.
    """
    shown, heading = choose(result, note, quantities), "Response surfaces"
    if shown.why:
        return nothing_to_draw(result, shown.heading(heading), shown.why)
    axes_of = {name: inputs or leading_pair(shown.view, name, shown.note) for name in shown.quantities}
    if not any(axes_of.values()):
        return nothing_to_draw(result, shown.heading(heading), "A surface needs two inputs that are numbers.")
    some = shown.view.some(_MOST_FITTED)
    figure, axes = sheet(shown, heading, 2, 4.7, 3.3, Margins(0.9, 0.85, 0.75), (1.6, 1.15))
    for panel, (name, pair) in zip(axes, axes_of.items(), strict=True):
        if pair:
            _panel(panel, shown, some, name, pair, units)
        else:
            explain(panel, f"{capital(shown.view.label(name))}\nNo two inputs that are numbers change it.")
    dots = [one for panel in axes for one in panel.get_lines() if one.get_label() in (_DESIGNS, _LOST)]
    part = len(some.rows) < len(shown.view.rows)
    more = f"fitted to {len(some.rows)} of {len(shown.view.rows)} designs, drawn at random" if part else ""
    key(figure, list({one.get_label(): one for one in dots}.values()), more)
    return figure


def leading_pair(view: StudyView, quantity: str, note: int) -> tuple[str, str] | None:
    """The two numeric inputs that matter most to a quantity, that which matters more first."""
    weights = np.nan_to_num(view.weights(quantity, note), nan=-1.0)
    order = np.argsort(-weights, kind="stable")
    reaches = view.pieces.reaches
    numbers = [one for one in (view.inputs[i] for i in order) if not one.text]
    numbers = [one for one in numbers if reaches[one.name].high > reaches[one.name].low]
    return (numbers[0].name, numbers[1].name) if len(numbers) > 1 else None


def _panel(axes: Axes, shown: Shown, view: StudyView, quantity: str, pair: tuple[str, str], units: System) -> None:
    label = capital(view.label(quantity))
    first, second = (np.asarray(view.input(name).values, dtype=np.float64) for name in pair)
    z = view.values(quantity, shown.note)
    others = [one.values for one in view.inputs if one.name not in pair]
    try:
        surface = fit_surface(first, second, z, others)
    except NoSurface as problem:
        explain(axes, f"{label}\n{capital(str(problem))}.")
        return
    x, y = view.input(pair[0]), view.input(pair[1])
    grid = [np.linspace(low, high, _FINE) for low, high in zip(surface.low, surface.high, strict=True)]
    filled = _filled(
        axes,
        x.shown(grid[0], units)[0],
        y.shown(grid[1], units)[0],
        view.shown(quantity, surface(*np.meshgrid(*grid)), units)[0],
    )
    unit = view.shown(quantity, 0.0, units)[1]
    _bar(axes, filled, axis_title(view.label(quantity), unit))
    _designs(axes, filled, np.column_stack([x.shown(first, units)[0], y.shown(second, units)[0]]), np.isfinite(z))
    axes.set_xlabel(axis_title(x.name, x.shown(0.0, units)[1]))
    axes.set_ylabel(axis_title(y.name, y.shown(0.0, units)[1]))
    title(axes, label, f"{surface.method}; {_quality(view, surface, quantity, units)}")


def _quality(view: StudyView, surface: Surface, quantity: str, units: System) -> str:
    """The error of the fit in words."""
    if not np.isfinite(surface.explained):
        return "it does not vary"
    if surface.explained > 1 - 1e-9:
        return "exact on designs left out"
    error = view.written(quantity, surface.error, units, digits=2)
    share = f"{max(surface.explained, 0.0):.1%}".replace("%", " %")
    return f"error on designs left out {error}, {share} explained"


def _filled(axes: Axes, x: Floats, y: Floats, values: Floats) -> ContourSet:
    flat = float(np.ptp(values)) <= 1e-9 * float(np.max(np.abs(values)))
    levels = None if flat else MaxNLocator(_LEVELS).tick_values(float(np.min(values)), float(np.max(values)))
    return axes.contourf(x, y, values, levels=levels, cmap=_COLORS)


def _bar(axes: Axes, filled: ContourSet, label: str) -> None:
    bar = axes.figure.colorbar(filled, ax=axes, pad=0.025, fraction=0.06, aspect=24)
    bar.set_label(label)
    bar.outline.set_linewidth(0.5)


def _designs(axes: Axes, filled: ContourSet, places: Floats, there: NDArray[np.bool_]) -> None:
    """The designs, and the surface cut to where there are any around."""
    lines = axes.contour(filled, levels=np.asarray(filled.levels)[::2], colors="white", linewidths=0.7)
    edge = _edge(axes, places[there])
    for drawn in (filled, lines) if edge else ():
        drawn.set_clip_path(edge)
    some = places[there][:: max(1, -(-int(there.sum()) // _MOST_DOTS))]
    axes.plot(
        *some.T,
        ".",
        color="white",
        markersize=3.5,
        markeredgecolor=INK,
        markeredgewidth=0.4,
        clip_on=False,
        label=_DESIGNS,
    )
    if not np.all(there):
        axes.plot(*places[~there].T, "x", color=VERMILLION, markersize=5, markeredgewidth=1.4, label=_LOST)
    axes.margins(0.02)
    axes.grid(False)


def _edge(axes: Axes, places: Floats) -> Polygon | None:
    """The hull of the designs: beyond it the surface would be a guess; None if they lie on a line."""
    low, reach = places.min(axis=0), np.ptp(places, axis=0)
    try:
        hull = ConvexHull((places - low) / reach)
    except QhullError:
        return None
    edge = Polygon(places[hull.vertices], fill=False, edgecolor=FAINT, linewidth=0.6)
    axes.add_patch(edge)
    return edge
