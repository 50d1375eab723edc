"""Seasons of made-up notes whose every figure is a straight line of how tight their runs are: adjusting by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import SimpleNamespace
from typing import Any

import numpy as np

from keyaction.models.climate.year import DAY, Year
from keyaction.models.frame.frame import Frame
from keyaction.sim.floating.course import RailCourse
from keyaction.sim.seasons.bench import REST, Bench
from keyaction.sim.seasons.season import DivisionSeason, NoteSeason
from keyaction.sim.tightening.tightness import Tightness

WAYS = {"riser": 0.5, "level": 0.8, "drop": 1.0}
EYE, LIFT, PLAY, MARGIN = 1.0, 5e-3, 1e-3, 1.2e-3
LINE = np.linspace(-5e-3, 5e-3, 201)


def a_year(humidity: Sequence[float]) -> Year:
    """A climate of 18 degC with these humidities, one a day."""
    values = np.array(humidity, dtype=float)
    return Year("made up", np.arange(len(values)) * DAY, np.full(len(values), 291.15), values)


def touch(looser: float, play: float, balanced: bool) -> dict[str, float]:
    """Figures of a run that is so much looser at the key than as regulated, m: a hung key follows it down."""
    slack = max(play + looser, 0.0) if balanced else play
    figures = {"lost_motion": slack, "steady_lift": LIFT - EYE * looser, "pluck_point": 2e-3}
    return figures | ({"pluck_point": 2e-3 + looser, REST: 0.0} if balanced else {REST: looser})


def a_note(note: int, tighter: Sequence[float], margin: float = MARGIN, balanced: bool = True) -> NoteSeason:
    """A note whose run is drawn tighter by so much at the key day by day, with that margin as regulated."""
    drawn, way = np.array(tighter, dtype=float), WAYS["level"]
    sinks = np.zeros_like(LINE) if balanced else -LINE / way
    known = Tightness(note, _train(note), "level", way, LINE, sinks, LINE, LINE, LINE, {}, LINE == LINE)
    play = PLAY if balanced else 0.0
    felt = [touch(-float(x), play, balanced) for x in drawn]
    figures = {name: np.array([one[name] for one in felt]) for name in felt[0]}
    level = np.zeros(len(drawn)) if balanced else drawn
    figures |= {"tightening": drawn, "margin": margin - drawn, "level": level}
    first = next((i for i, x in enumerate(drawn) if x > margin), -1)
    return NoteSeason(note, f"note {note}", known, drawn * way, figures, balanced, first)


def _train(note: int) -> Any:
    return SimpleNamespace(note=note)


def a_bench(notes: Mapping[int, NoteSeason], places: tuple[Any, ...] = (), ways: Mapping[str, float] = WAYS) -> Bench:
    """A bench whose presses are the straight lines of `touch`."""

    def feel(known: Tightness, stretch: float, rod: str, out: float) -> Mapping[str, float]:
        looser = -stretch / known.way + (out / ways[rod] if rod else 0.0)
        one = notes[known.note]
        return touch(looser, PLAY if one.balanced else 0.0, one.balanced)

    return Bench({note: dict(ways) for note in notes}, dict.fromkeys(notes, EYE), places, feel)


def a_division(
    notes: Sequence[NoteSeason], year: Year, rail: Any = None, course: RailCourse | None = None
) -> DivisionSeason:
    """A division of these notes."""
    frame = Frame((), rail, 291.15, 0.5)
    case: Any = SimpleNamespace(layout=None)
    return DivisionSeason("", case, frame, year, {}, {}, {one.note: one for one in notes}, course, {})
