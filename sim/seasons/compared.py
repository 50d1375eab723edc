"""Variants of a division over one year: its rail fixed or floating, rods of carbon or wood, members that cancel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.climate.year import Year
from keyaction.models.frame.frame import Frame
from keyaction.sim.compare.rod_choice import trackers
from keyaction.sim.compare.variants import ComparisonProblem, read_variants
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.seasons.cancelling import RODS, Search, search
from keyaction.sim.seasons.engine import frame_of, seasons
from keyaction.sim.seasons.exchange import THICK, groups_of, strain_of, thick, thickness_assumed, with_members
from keyaction.sim.seasons.season import DivisionSeason, NoteSeason

CARBON, WOOD = "carbon-rod@2mm", "sitka-spruce"
"""Rods that are put in place of all trackers: a round carbon rod of 2 mm, or a strip of wood of the usual section."""
AS_IS, FIXED, FLOATING = "as it is", "rail fixed", "rail floating"
OF_CARBON, OF_WOOD, CANCEL = "rods of carbon", "rods of wood", "chosen to cancel"
CARBON_FIXED = "rods of carbon, rail fixed"
NO_RAIL = (
    "The case states no rail, so that none can float: give it a [rail] with what it carries, towards, mass and load to "
    "compare it."
)


@dataclass(frozen=True)
class Outcome:
    """What a year does to one variant.

    Attributes
    ----------
    name : str
    made : str
        What is changed in it; empty of the division as it is.
    mean_range, worst_range : float
        Range over the year of the path at the key, m: of the mean of all notes, and of the note that moves most.
    worst : str
        That note.
    level_range, play_range : float
        The largest range of any note, m.
    margin : float
        Least of any note on any day, m at the key.
    tightest, tightest_day : str
        The note that has it, and when.
    ciphers : tuple of (str, int)
        Notes that sound unplayed, and the first instant of each, the earliest first.
    lift : float
        Least of any note on any day, m.
    lowest : str
        The note that has it.
    failed : int
        Notes without figures.
    """

    name: str
    made: str
    mean_range: float
    worst_range: float
    worst: str
    level_range: float
    play_range: float
    margin: float
    tightest: str
    tightest_day: str
    ciphers: tuple[tuple[str, int], ...]
    lift: float
    lowest: str
    failed: int


@dataclass(frozen=True)
class Compared:
    """Variants side by side.

    Attributes
    ----------
    outcomes : tuple of Outcome
        The division as it is first.
    search : Search or None
        What was tried for members that cancel; None where nothing can be exchanged.
    year : Year
    lines : tuple of str
        Variants that are left out, and why.
    """

    outcomes: tuple[Outcome, ...]
    search: Search | None
    year: Year
    lines: tuple[str, ...] = field(default=())


@dataclass(frozen=True)
class _Variant:
    name: str
    made: str
    case: Case
    frame: Frame


def compared(
    case: Case,
    year: Year | None = None,
    notes: Sequence[int] | None = None,
    jobs: int = 0,
    frame: Frame | None = None,
    base: DivisionSeason | None = None,
) -> Compared:
    """Let the same year pass over variants of a division.

    Parameters
    ----------
    case : Case
    year : Year, optional
        By default that of the case, as `keyaction.sim.seasons.engine.seasons` has it.
    notes : sequence of int, optional
        By default the whole compass.
    jobs : int
        Threads; 0 means one per core.
    frame : Frame, optional
        In place of the case's own.
    base : DivisionSeason, optional
        The division as it is, where its year is known already: in place of `year`, `notes` and `frame`.

    Returns
    -------
    Compared
        Materials that cancel are searched for with the rail fixed; the variant has the rail of the case.
    """
    base = base or seasons(case, year, notes, jobs, frame or frame_of(case))
    frame = base.frame
    found = search(groups, strain_of(base)) if (groups := groups_of(base)) else None
    lines: list[str] = []
    variants = [*_rails(case, frame, lines), *_rods(case, frame, lines), *_cancelling(case, frame, found, lines)]
    outcomes = [outcome(AS_IS, "", base)]
    outcomes += [outcome(one.name, one.made, _over_the_year(one, base, jobs)) for one in variants]
    return Compared(tuple(outcomes), found, base.year, tuple(lines))


def _over_the_year(one: _Variant, base: DivisionSeason, jobs: int) -> DivisionSeason:
    """A variant's year, of the notes of `base`; a rail that floats is held by all of its division, as in `base`."""
    floats = one.frame.rail is not None and not one.frame.rail.fixed
    season = seasons(one.case, base.year, None if floats else list(base.notes), jobs, one.frame)
    return replace(season, notes={note: season.notes[note] for note in base.notes})


def _rails(case: Case, frame: Frame, lines: list[str]) -> list[_Variant]:
    if frame.rail is None:
        lines.append(NO_RAIL)
        return []
    name = FLOATING if frame.rail.fixed else FIXED
    return [_Variant(name, name, case, _held_or_not(frame, not frame.rail.fixed))]


def _held_or_not(frame: Frame, fixed: bool) -> Frame:
    return replace(frame, rail=replace(frame.rail, fixed=fixed) if frame.rail else None)


def _rods(case: Case, frame: Frame, lines: list[str]) -> list[_Variant]:
    """All trackers of carbon, with a rail that floats made fast as well; and of wood where they are not."""
    kinds = {str(given.value) for part in trackers(case) for given in part.fields.get("material", {}).values()}
    wooden = bool(kinds) and all(name in case.library and case.library.get(name).kind == "wood" for name in kinds)
    if wooden:
        lines.append(f"{OF_WOOD}: they are, as it is.")
    wanted = [(OF_CARBON, CARBON), *([] if wooden else [(OF_WOOD, WOOD)])]
    found = [one for name, rod in wanted if (one := _exchanged(name, rod, case, frame, lines))]
    if found and found[0].name == OF_CARBON and frame.rail and not frame.rail.fixed:
        found.insert(1, replace(found[0], name=CARBON_FIXED, frame=_held_or_not(frame, True)))
    return found


def _exchanged(name: str, rod: str, case: Case, frame: Frame, lines: list[str]) -> _Variant | None:
    try:
        made = read_variants(case, [rod])[-1]
    except ComparisonProblem as problem:
        lines.append(f"{name}: left out: {problem.defects[0]}")
        return None
    return _Variant(name, f"trackers {made.name}", made.case, frame)


def _cancelling(case: Case, frame: Frame, found: Search | None, lines: list[str]) -> list[_Variant]:
    """The best materials of the search, built and run."""
    if found is None or not found.best.changes:
        lines.append(f"{CANCEL}: nothing that was tried leaves less than the division as it is.")
        return []
    changes = dict(found.best.changes)
    made = ", ".join(f"{group} of {material}" for group, material in changes.items())
    rods = changes.pop(RODS, None)
    own = with_members(case, frame, changes)
    for one in thickness_assumed(case, frame, changes):
        size = thick(one, frame)
        lines.append(
            f"{CANCEL}: {one.name}, of {one.material.name} without a thickness, becomes wood of {1e3 * size:g} mm "
            f"(assumed{', as the thickest wooden member' if size != THICK else ''}): it sets how slowly it follows."
        )
    if rods is None:
        return [_Variant(CANCEL, made, case, own)]
    found_one = _exchanged(CANCEL, rods, case, own, lines)
    return [replace(found_one, made=made)] if found_one else []


def outcome(name: str, made: str, season: DivisionSeason) -> Outcome:
    """The figures of a variant, from its year.

    Parameters
    ----------
    name, made : str
    season : DivisionSeason
    """
    notes = [one for one in season.notes.values() if not one.failed]
    path, margin, lift = (_over(notes, season.year, what) for what in ("tightening", "margin", "steady_lift"))
    level, play = (_over(notes, season.year, what) for what in ("level", "lost_motion"))
    ranges = np.array([_range(one) for one in path])
    first = sorted((one.cipher, one.name) for one in notes if one.cipher >= 0)
    tight, low = _least(margin), _least(lift)
    return Outcome(
        name, made, _range(np.mean(path, axis=0)) if notes else math.nan,
        *_most(ranges, notes), _most(np.array([_range(one) for one in level]), notes)[0],
        _most(np.array([_range(one) for one in play]), notes)[0],
        float(margin[tight]) if tight else math.nan, notes[tight[0]].name if tight else "",
        season.year.when(tight[1]) if tight else "", tuple((note, day) for day, note in first),
        float(lift[low]) if low else math.nan, notes[low[0]].name if low else "", len(season.notes) - len(notes),
    )  # fmt: skip


def _over(notes: Sequence[NoteSeason], year: Year, what: str) -> Floats:
    empty = np.full(len(year), np.nan)
    return np.array([one.figures.get(what, empty) for one in notes]).reshape(len(notes), len(year))


def _range(values: Floats) -> float:
    """Largest less smallest of what there is; NaN where there is nothing."""
    known = values[np.isfinite(values)]
    return float(np.ptp(known)) if len(known) else math.nan


def _most(ranges: Floats, notes: Sequence[NoteSeason]) -> tuple[float, str]:
    if not np.any(np.isfinite(ranges)):
        return math.nan, ""
    i = int(np.nanargmax(ranges))
    return float(ranges[i]), notes[i].name


def _least(values: Floats) -> tuple[int, int] | None:
    """Row and column of the smallest figure there is."""
    if not np.any(np.isfinite(values)):
        return None
    i, j = np.unravel_index(int(np.argmin(np.where(np.isnan(values), np.inf, values))), values.shape)
    return int(i), int(j)
