"""A division over a year, made up: no figure of it is computed from wood; for pictures, tables and words only."""

from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np

from keyaction.cases.instrument.reader import read_instrument
from keyaction.models.climate.year import DAY, Year
from keyaction.models.frame.frame import Frame
from keyaction.models.frame.member import Member
from keyaction.models.frame.rail import Rail
from keyaction.models.notes import note_name
from keyaction.sim.floating.course import RailCourse
from keyaction.sim.seasons.season import DivisionSeason, NoteSeason

WHY = "the step became too small at 0.113 s; loosen the tolerances"
RAIL = Rail(("floor-square",), "down", 2.4, 20.0, friction=0.5, ahead=0.0012, behind=0.0015)


@cache
def _case():
    return read_instrument("demo-instrument").divisions["behind"]


def air(days=365, swing=1.0, start=date(2025, 1, 1)):
    """A made-up climate: dry in winter, damp in summer."""
    t = np.arange(days, dtype=float)
    turn = -np.cos(2 * np.pi * (t - 20) / 365)
    rough = 0.03 * np.sin(2 * np.pi * t / 11.3)
    humidity = 0.52 + swing * (0.16 * turn + rough)
    return Year("made-up air", t * DAY, 291.0 + swing * 4.0 * turn, humidity, start, "invented")


def _members(case):
    library = case.library
    oak, spruce = library.get("white-oak"), library.get("spruce")
    many = dict.fromkeys(case.compass, 2.0)
    return (
        Member("posts", oak, many, "up", "along", carries=("roller",), thickness=0.06),
        Member("rail of squares", oak, many, "up", "tangential", carries=("floor-square",), thickness=0.045),
        Member("key frame", spruce, many, "up", "radial", carries=("key",), thickness=0.027),
    )


def _lagging(turn, days, late):
    swing = np.interp(np.arange(days) - late, np.arange(days), turn, period=365) if days > 1 else turn
    return 0.105 + 0.034 * np.exp(-late / 60) * swing


def a_year(
    notes=6, days=365, swing=1.0, rail=True, members=True, naming="scientific", failed=(), cipher="some",
    hung=False, start=date(2025, 1, 1), stops=True,
):  # fmt: skip
    """Courses that look like those of a year.

    Parameters
    ----------
    cipher : str
        "none", "some" (the lowest third, in the dry time) or "all" (every note, the whole year).
    failed : tuple of int
        Rows of notes without figures.
    """
    case = replace(_case(), naming=naming)
    year = air(days, swing, start)
    turn = (year.humidity - 0.52) / 0.16
    chosen = [int(one) for one in np.linspace(0, len(case.compass) - 1, notes).round()] if notes > 1 else [24]
    found, changes = {}, {}
    place = 0.8e-3 * turn
    held = np.clip(place, -RAIL.behind, 0.8e-3 if stops else RAIL.ahead)
    frame = Frame(_members(case) if members else (), RAIL if rail else None, 291.0, 0.52, year)
    for row, one in enumerate(chosen):
        note = case.compass[one]
        found[note] = _note(case, note, turn, row, notes, rail, cipher, hung, row in failed, held)
        changes[note] = np.vstack([2e-4 * turn, 3e-4 * turn, 1e-4 * turn])
    wood = {"posts": 40, "rail of squares": 25, "key frame": 9} if members else {}
    moist = {name: _lagging(turn, days, late) for name, late in {**wood, "riser": 1, "level-tracker": 1}.items()}
    course = None
    if rail:
        stop = np.where(held >= 0.8e-3, 1, 0) if stops else np.zeros(days, dtype=int)
        course = RailCourse(
            RAIL, held, held - 0.15e-3, np.minimum(held + 0.15e-3, 0.8e-3), 20.0 + 0.4 * turn, stop,
            dict.fromkeys(found, 1.0),
        )  # fmt: skip
    rods = dict.fromkeys(found, ("riser", "level-tracker", "riser-behind"))
    return DivisionSeason("behind", case, frame, year, rods, changes, found, course, moist)


def _note(case, note, turn, row, notes, rail, cipher, hung, failed, held):
    name = note_name(note, case.naming)
    if failed:
        return NoteSeason(note, name, None, turn * np.nan, {}, not hung, -1, WHY)
    left = 0.25 if rail else 1.0
    tight = -1e-3 * turn * left * (1.0 - 0.5 * row / max(notes - 1, 1))
    spare = {"none": 2.2e-3, "some": 0.2e-3 + 1e-3 * row / max(notes - 1, 1), "all": -3e-3}[cipher]
    margin = spare - tight
    open_ = margin < 0
    figures = {
        "tightening": tight,
        "level": np.where(hung, tight, np.clip(-margin, 0, None)),
        "lost_motion": np.clip(0.3e-3 * (not hung) + margin * (not hung), 0, None),
        "key_dip": 0.0103 + 0.1 * tight,
        "steady_lift": 5.4e-3 + 0.7 * tight,
        "pluck_point": np.where(open_, np.nan, 1.2e-3 - tight),
        "pluck_force": np.where(open_, np.nan, 1.6 + 40 * tight),
        "seat_load": np.clip(1.4 * margin / 2e-3, 0, None),
        "margin": margin,
    }
    first = int(np.argmax(open_)) if np.any(open_) else -1
    return NoteSeason(note, name, None, tight * 0.9 + held * 0, figures, not hung, first)


def mute(season, rows):
    """The same year with notes, by row, that do not speak at some instants."""
    names = list(season.notes)
    changed = {names[row]: replace(season.notes[names[row]], mute=there) for row, there in rows.items()}
    return replace(season, notes={**season.notes, **changed})


def struck(quiet=5, played=("C4", "E4", "G4"), sounding=("D4",)):
    """Made-up courses of a rail under struck notes."""
    from keyaction.plots.seasons.rail_struck import StruckCourses

    t = np.linspace(0.0, 0.5, 501)
    swing = np.exp(-t / 0.08) * np.sin(2 * np.pi * 14 * t)
    down = np.clip(t / 0.04, 0, 1) * np.clip((0.4 - t) / 0.04, 0, 1)
    names = [f"{letter}{octave}" for octave in range(2, 7) for letter in "CDEFGAB"]
    silent = [name for name in ("D4", *names) if name not in played][:quiet]
    lifts = {name: 5e-3 * down * (1 - 0.05 * i) for i, name in enumerate(played)}
    seats = {
        name: np.clip(0.6 + 0.05 * i - 0.7 * np.abs(swing), 0, None) for i, name in enumerate(dict.fromkeys(silent))
    }
    return StruckCourses(
        RAIL, t, -0.3e-3 * down + 0.2e-3 * swing, lifts, seats, tuple(n for n in sounding if n in seats)
    )
