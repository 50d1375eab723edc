"""Response surfaces: a quantity over the two inputs that matter most to it, with contours and the error of the fit."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.collections import PathCollection
from matplotlib.contour import QuadContourSet
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from matplotlib.ticker import MaxNLocator
from scipy.spatial import ConvexHull, QhullError

from keyaction.models.units.quantity import System
from keyaction.plots.study.common import Shown, capital, choose, drawn, key, left_away, sheet, title
from keyaction.plots.style.page import Floats, Margins, axis_title, explain, in_style, nothing_to_draw
from keyaction.plots.style.pens import FAINT, INK, VERMILLION
from keyaction.sim.analysis.indices import varies
from keyaction.sim.analysis.surface import NoSurface, Surface, fit_surface
from keyaction.sim.analysis.view import StudyView
from keyaction.sim.files.labelled import Result

_COLORS = "cividis"
"""J. R. Nuñez, C. R. Anderton and R. S. Renslow, "Optimizing colormaps with consideration for color vision
deficiency to enable accurate interpretation of scientific data", PLOS ONE 13 (2018) e0199239."""
_FINE = 81
_LEVELS = 11
_MOST_DOTS = 400
_DESIGNS, _COLOURED, _LOST = "designs", "designs in the colour of their value", "designs without a value"
_LETTERS = 84
"""Letters in a line above a panel."""


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
        Where no surface can be fitted, or none says more than the mean, the designs alone in the colour of their value.

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
    some, words = drawn(shown)
    figure, axes = sheet(shown, heading, 2, 4.7, 3.3, Margins(0.9, 0.85, 0.75), (1.6, 1.15))
    for panel, (name, pair) in zip(axes, axes_of.items(), strict=True):
        if pair:
            _panel(panel, some, name, pair, units)
        else:
            explain(panel, f"{capital(shown.view.label(name))}\nNo two inputs that are numbers change it.")
    marks = [one for panel in axes for one in (*panel.get_lines(), *panel.collections)]
    kinds = {str(one.get_label()): one for one in marks}
    key(figure, [kinds[kind] for kind in (_DESIGNS, _COLOURED, _LOST) if kind in kinds], left_away(shown, words))
    return figure


def leading_pair(view: StudyView, quantity: str, note: int) -> tuple[str, str] | None:
    """The two numeric inputs that matter most to a quantity, that which matters more first."""
    weights = np.nan_to_num(view.weights(quantity, note), nan=-1.0)
    order = np.argsort(-weights, kind="stable")
    reaches = view.pieces.reaches
    numbers = [one for one in (view.inputs[i] for i in order) if not one.text]
    numbers = [one for one in numbers if reaches[one.name].high > reaches[one.name].low]
    return (numbers[0].name, numbers[1].name) if len(numbers) > 1 else None


def _panel(axes: Axes, shown: Shown, quantity: str, pair: tuple[str, str], units: System) -> None:
    view = shown.view
    z = view.values(quantity, shown.note)
    there = np.isfinite(z)
    label, lost = capital(view.label(quantity)), int(np.sum(~there))
    if np.any(there) and not varies(z[there]):
        explain(axes, f"{label}\nIt does not vary: {view.written(quantity, float(z[there][0]), units)} in all designs.")
        return
    found = _fitted(view, pair, z)
    told = found if isinstance(found, str) else _quality(view, found, quantity, units)
    if lost:
        told += f"; {lost} of {len(z)} designs have no value"
    x, y = (view.input(name) for name in pair)
    places = np.column_stack([one.shown(np.asarray(one.values, dtype=np.float64), units)[0] for one in (x, y)])
    if isinstance(found, str):
        colors: ScalarMappable = _values(axes, places[there], view.shown(quantity, z[there], units)[0])
    else:
        grid = [np.linspace(low, high, _FINE) for low, high in zip(found.low, found.high, strict=True)]
        over = view.shown(quantity, found(*np.meshgrid(*grid)), units)[0]
        colors = _filled(axes, x.shown(grid[0], units)[0], y.shown(grid[1], units)[0], over)
        _cut(axes, colors, places[there])
        _dots(axes, places[there])
    _crosses(axes, places[~there])
    _bar(axes, colors, axis_title(view.label(quantity), view.shown(quantity, 0.0, units)[1]))
    axes.margins(0.02 if not isinstance(found, str) else 0.06)
    axes.grid(False)
    axes.set_xlabel(axis_title(x.name, x.shown(0.0, units)[1]))
    axes.set_ylabel(axis_title(y.name, y.shown(0.0, units)[1]))
    title(axes, label, textwrap.fill(told, _LETTERS))


def _fitted(view: StudyView, pair: tuple[str, str], z: Floats) -> Surface | str:
    """The surface, or why the designs stand alone."""
    first, second = (np.asarray(view.input(name).values, dtype=np.float64) for name in pair)
    others = [one.values for one in view.inputs if one.name not in pair]
    try:
        surface = fit_surface(first, second, z, others)
    except NoSurface as problem:
        return f"no surface, each design by itself: {problem}"
    if surface.explained <= 0:
        return "no surface, each design by itself: none would say more than the mean"
    return surface


def _quality(view: StudyView, surface: Surface, quantity: str, units: System) -> str:
    """The method, and the error of the fit in words."""
    if surface.explained > 1 - 1e-9:
        return f"{surface.method}; exact on designs kept out"
    error = view.written_plain(quantity, surface.error, units, digits=2)
    share = f"{surface.explained:.1%}".replace("%", " %")
    return f"{surface.method}; on designs kept out: error {error}, {share} explained"


def _filled(axes: Axes, x: Floats, y: Floats, values: Floats) -> QuadContourSet:
    flat = float(np.ptp(values)) <= 1e-9 * float(np.max(np.abs(values)))
    levels = None if flat else MaxNLocator(_LEVELS).tick_values(float(np.min(values)), float(np.max(values)))
    return axes.contourf(x, y, values, levels=levels, cmap=_COLORS)


def _values(axes: Axes, places: Floats, values: Floats) -> PathCollection:
    """Each design as a dot in the colour of its value."""
    x, y = places.T
    return axes.scatter(x, y, c=values, cmap=_COLORS, s=34, edgecolors=INK, linewidths=0.5, zorder=3, label=_COLOURED)


def _bar(axes: Axes, drawn: ScalarMappable, label: str) -> None:
    bar = axes.figure.colorbar(drawn, ax=axes, pad=0.025, fraction=0.06, aspect=24)
    bar.set_label(label)
    bar.outline.set_linewidth(0.5)


def _cut(axes: Axes, filled: QuadContourSet, places: Floats) -> None:
    """Contours, and the surface cut to where there are designs around."""
    lines = axes.contour(filled, levels=np.asarray(filled.levels)[::2], colors="white", linewidths=0.7)
    edge = _edge(axes, places)
    for one in (filled, lines) if edge else ():
        one.set_clip_path(edge)


def _dots(axes: Axes, places: Floats) -> None:
    some = places[:: max(1, -(-len(places) // _MOST_DOTS))]
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


def _crosses(axes: Axes, places: Floats) -> None:
    """Designs without a value."""
    if len(places):
        some = places[:: max(1, -(-len(places) // _MOST_DOTS))]
        axes.plot(*some.T, "x", color=VERMILLION, markersize=4, markeredgewidth=1.0, zorder=4, label=_LOST)


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
