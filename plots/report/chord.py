"""The chord sheet of a report: notes at once, joined through the wind of their box."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from keyaction.models.units.quantity import System
from keyaction.sim.chord.sheet import notes_sheet, openings_sheet, robbing_sheet, sentences
from keyaction.sim.files.labelled import Result
from keyaction.sim.tables.sheet import Sheet

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from keyaction.sim.chord.chord import Chord


def chord_sheets(chord: Chord, units: System, coupled: bool = False) -> list[Sheet]:
    """Every note alone and under the chord with what is to be said of it; smallest pallets; robbing by stops.

    `coupled` says that the rest of the report has couplers drawn, which the chord may not have.
    """
    drawn = [] if chord.stops is None else [f"Stops drawn: {', '.join(chord.stops) or 'none'}."]
    if chord.coupled:
        drawn.append(f"Couplers drawn: {', '.join(chord.coupled)}.")
    elif coupled:
        drawn.append("Played with no coupler drawn; --coupled NAMES draws them.")
    notes = notes_sheet(chord.notes, units)
    title = f"Chord {' '.join(chord.played.notes)}"
    found = [replace(notes, title=title, lines=[*drawn, *sentences(chord, units)]), openings_sheet(chord, units)]
    return [*found, *([robbing_sheet(chord)] if chord.robbing else [])]


def chord_picture(chord: Chord, result: Result, units: System) -> Figure:
    """Pressures of box and grooves over the time of the chord."""
    from keyaction.plots.chord.pressure import pressures

    return pressures(chord, result.about, units)
