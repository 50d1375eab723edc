"""A year over the compass: of every note how far play or level, lift and margin go, and when they are worst."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System
from keyaction.plots.compass.keyboard import MARKS, lay_out, mark_verdicts, semitones, widen
from keyaction.plots.seasons.ground import DAMP, DRY
from keyaction.plots.style.labels import breadth
from keyaction.plots.style.page import Floats, Margins, axis_title, in_style, nothing_to_draw, page, panels, shown
from keyaction.plots.style.pens import FAINT, INK, SMALL, VERMILLION, Pen
from keyaction.plots.style.reading import no_notes
from keyaction.sim.files.labelled import Result
from keyaction.sim.seasons.result import extremes, season_result
from keyaction.sim.seasons.season import DivisionSeason

_BAR = "#9a9a9a"
_NONE = "no figure"


@dataclass(frozen=True)
class _Panel:
    """A figure, the words of its axis, its panel's height, and of which kind of key: balanced, hung, or both."""

    name: str
    words: str
    ratio: float = 1.0
    balanced: bool | None = None


_PANELS = (
    _Panel("lost_motion", "play", 1.1, balanced=True),
    _Panel("level", "level", 1.1, balanced=False),
    _Panel("steady_lift", "lift"),
    _Panel("margin", "margin", 1.4),
)


@in_style
def compass_year(season: DivisionSeason, units: System = "trade") -> Figure:
    """Draw what a year does to all notes.

    Parameters
    ----------
    season : DivisionSeason
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        Play of balanced keys, level of hung ones, lift and margin: strokes from the least to the greatest of the year,
        with the days on which the wood is driest and dampest marked. Notes that sound unplayed, those that do not
        speak when played, and those without figures have the marks of the house.
    """
    result, heading = season_result(season), "A year over the compass"
    if why := no_notes(result):
        return nothing_to_draw(result, heading, why)
    chosen = [one for one in _PANELS if one.balanced is None or np.any(result["balanced"] == one.balanced)]
    ratios = [one.ratio for one in chosen]
    figure = page(result, heading, 10.5, 2.6 + 1.75 * sum(ratios))
    days = _days(season)
    right = 0.75 + breadth(figure, [*MARKS, *days, "least to most of the year"])
    margins = Margins(left=0.85, right=right, top=0.25)
    grid = panels(figure, len(chosen) + 1, 1, margins, hspace=0.16, height_ratios=[*ratios, 0.22])
    strip = figure.add_subplot(grid[len(chosen)])
    rows = [figure.add_subplot(grid[i], sharex=strip) for i in range(len(chosen))]
    for axes, panel in zip(rows, chosen, strict=True):
        _ranges(axes, result, panel, days, units)
        mark_verdicts(axes, result, result[f"{panel.name}_low"], _NONE, every=panel is chosen[0])
    lay_out(rows, strip, result)
    figure.align_ylabels(rows)
    for axes in rows:
        axes.legend(loc="upper left", bbox_to_anchor=(1.01, 1.02), borderaxespad=0.0)
    rows[0].set_title(_told(result, season), loc="left", size=SMALL, color=INK, pad=5)
    return figure


def _days(season: DivisionSeason) -> tuple[str, str]:
    """Names of the driest and the dampest day; alike where nothing changes."""
    dry, damp = (season.year.when(one) for one in extremes(season))
    return f"driest wood, {dry}", f"dampest wood, {damp}"


def _ranges(axes: Axes, result: Result, panel: _Panel, days: tuple[str, str], units: System) -> None:
    si = result.held(f"{panel.name}_low").unit
    mine = np.full(len(result["balanced"]), True) if panel.balanced is None else result["balanced"] == panel.balanced

    def of(end: str) -> Floats:
        values = np.where(mine, result[f"{panel.name}_{end}"], np.nan)
        return shown(np.where(np.isfinite(values), values, np.nan), si, units)[0]

    notes = np.array(semitones(result))
    axes.vlines(
        notes, of("low"), of("high"), color=_BAR, linewidth=_width(len(notes)), label="least to most of the year"
    )
    for end, look, label in (("dry", DRY, days[0]), ("damp", DAMP, days[1])):
        _points(axes, notes, of(end), look, label)
    axes.set_ylabel(axis_title(panel.words, shown(0.0, si, units)[1]))
    axes.margins(y=0.14)
    axes.use_sticky_edges = False
    widen(axes, si, units)
    low, high = axes.get_ylim()
    if low < 0.0 < high:
        of_margin = panel.name == "margin"
        axes.axhline(0.0, color=VERMILLION if of_margin else FAINT, linewidth=1.0 if of_margin else 0.6, zorder=0.5)


def _width(count: int) -> float:
    return 3.2 if count > 12 else 5.0


def _points(axes: Axes, notes: np.ndarray, values: Floats, look: Pen, label: str) -> None:
    axes.plot(
        notes, values, look.marker, color=look.color, markersize=5.0, markeredgecolor="white", markeredgewidth=0.4,
        linestyle="none", label=label, zorder=3,
    )  # fmt: skip


def _told(result: Result, season: DivisionSeason) -> str:
    """How many notes sound unplayed, and how many are mute, in a line."""
    played = np.array([str(one) == "ok" for one in result["status"]])
    total = f"{int(np.sum(played))} note{'s' if np.sum(played) != 1 else ''}"
    found = [_worst(result, "cipher_days", total, ("sounds unplayed", "sound unplayed"))]
    if np.any(result["mute_days"] > 0):
        found.append(_worst(result, "mute_days", total, ("does not speak when played", "do not speak when played")))
    return "; ".join([*found, season.year.name])


def _worst(result: Result, name: str, total: str, verbs: tuple[str, str]) -> str:
    days = result[name]
    count = int(np.sum(days > 0))
    if not count:
        return f"none of {total} {verbs[0]}"
    longest = int(np.argmax(days))
    more = f"longest {result.notes[longest]}, {days[longest]:.0f} day{'s' if days[longest] != 1 else ''}"
    return f"{count} of {total} {verbs[count > 1]} on some day; {more}"
