"""All that is asked of the tolerances of a case, put together."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from keyaction.cases.action.case import Case
from keyaction.cases.study.spreads import Uncertain
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.tolerances.coupled import Coupled
from keyaction.sim.tolerances.figures import BY_NAME
from keyaction.sim.tolerances.full import Full, full_draws
from keyaction.sim.tolerances.sensitivity import Sensitivity, sensitivities
from keyaction.sim.tolerances.stagger import STAGGER, PluckPoint, pluck_points
from keyaction.sim.tolerances.steps import DRAWS, Lineal, Scatter
from keyaction.sim.tolerances.worth import Room, Worths, room, worths

PRESSED = 20
"""Full draws unless it is said."""
ALLOW = 0.05
"""Share of steps that may be felt unless it is said (assumed)."""

Progress = Callable[[str, int, int], None]
"""Told what is being done, how much of it is done, and how much there is."""


@dataclass(frozen=True)
class Asked:
    """What is asked.

    Attributes
    ----------
    figure : str
        Whose steps are looked at.
    limit : float
        Step that counts; NaN for that of the figure.
    allow : float
        Share of steps that may be beyond it.
    tolerance : str
        Of which is asked how wide it may be; empty for that of the springs, or without one for the one worth most.
    stagger : float
        m.
    draws, full : int
        Draws of the straight line, and full ones.
    wind_off : bool
    seed : int
    """

    figure: str = "pluck"
    limit: float = math.nan
    allow: float = ALLOW
    tolerance: str = ""
    stagger: float = STAGGER
    draws: int = DRAWS
    full: int = PRESSED
    wind_off: bool = False
    seed: int = 1


@dataclass(frozen=True)
class Tolerances:
    """What the tolerances of a case do.

    Attributes
    ----------
    case : Case
    asked : Asked
    found : Sensitivity
    worths : Worths
        Of the steps of the figure that is asked for.
    rooms : tuple of Room
        Of the tolerance that is asked for, and of all together; empty without neighbours.
    full : Full or None
    full_steps : Scatter or None
    points : tuple of PluckPoint
    coupled : tuple of Coupled
    """

    case: Case
    asked: Asked
    found: Sensitivity
    worths: Worths
    rooms: tuple[Room, ...]
    full: Full | None
    full_steps: Scatter | None
    points: tuple[PluckPoint, ...]
    coupled: tuple[Coupled, ...] = field(default=())

    @property
    def line(self) -> Lineal:
        """The figure whose steps are looked at."""
        return self.worths.line


def tolerances(
    case: Case,
    notes: Sequence[int],
    asked: Asked | None = None,
    jobs: int = 0,
    progress: Progress | None = None,
    doubts: Sequence[Uncertain] | None = None,
) -> Tolerances:
    """Find what the tolerances of a case do at the key, which are worth paying for, and what is left of a stagger.

    Parameters
    ----------
    case : Case
    notes : sequence of int
    asked : Asked, optional
    jobs : int
        Processes; 0 means one per core.
    progress : callable, optional
    doubts : sequence of Uncertain, optional
        In place of everything that is uncertain about the case.

    Raises
    ------
    keyaction.TrainProblem
        If a note's train cannot be built.
    keyaction.sim.code.no_numba.NoNumba
        When Numba cannot be used.
    """
    need_numba()
    asked, done = asked or Asked(), [0]

    def told(words: str, total: int) -> Callable[[int], None]:
        done[0] = 0

        def step(_: int) -> None:
            done[0] += 1
            if progress:
                progress(words, done[0], total)

        return step

    found = sensitivities(case, notes, _off(asked), jobs, told("pressing with every tolerance", len(notes)), doubts)
    line = Lineal.of(found, asked.figure, asked.limit)
    ranked = worths(found, line, asked.draws, asked.seed)
    full = None
    if asked.full and doubts is None and len(line.pairs):
        full = full_draws(case, notes, asked.full, asked.seed, _off(asked), jobs, told("drawing in full", asked.full))
    return Tolerances(
        case,
        asked,
        found,
        ranked,
        _rooms(found, ranked, asked),
        full,
        full.scatter(line) if full else None,
        tuple(pluck_points(found, asked.stagger)),
    )


def _off(asked: Asked) -> bool:
    return asked.wind_off or BY_NAME[asked.figure].off


def looked_at(found: Sensitivity, ranked: Worths, name: str = "") -> int:
    """The tolerance of which is asked how wide it may be: that of the name, of the springs' force, or worth most."""
    names = [one.name for one in found.doubts]
    if name:
        return names.index(name)
    forces = [k for k, one in enumerate(found.doubts) if one.target.path.endswith((".force", "_force")) and one.pieces]
    springs = [k for k in forces if "felt" not in names[k] and "seat" not in names[k]]
    return next((one.number for one in ranked.ranked if one.number in springs), ranked.ranked[0].number)


def _rooms(found: Sensitivity, ranked: Worths, asked: Asked) -> tuple[Room, ...]:
    if not ranked.ranked:
        return ()
    number = looked_at(found, ranked, asked.tolerance)
    drawn = room(ranked.line, number, asked.allow, asked.draws, asked.seed)
    return drawn, room(ranked.line, -1, asked.allow)
