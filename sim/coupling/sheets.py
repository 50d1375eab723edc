"""The couplers that were set, as sheets: a schedule for the set, what every pallet lifts, staggers side by side."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from keyaction.models.notes import Naming, note_name
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.coupling.opening import RATIO, Opening
from keyaction.sim.coupling.regulate import SetCoupler
from keyaction.sim.coupling.setting import Setting
from keyaction.sim.coupling.split import Wishes
from keyaction.sim.figures.evenness import JUST_NOTICEABLE, neighbour_steps
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

SCHEDULE_NOTE = (
    "was: with the play of the file; set: with the play to set; in both the couplers set before are drawn. play: where "
    "the coupler gives; turns: of its nut, + for more play. own, dr.: key travel at the pluck of the key's own pallet, "
    "and of the driven one. peak: highest key force of the slow press; step: from the note below, '!' where a finger "
    "can tell (7 %). lift: of the driven pallet. opens: its groove opens (50 % of its wind) so much after the key's "
    "own in the standard stroke. by: what set the play: the peak (near the lowest), the lift (which allows no more), "
    "the least play. '!' after the note: left as it is."
)
_OPENING = (
    "Lift at the eye with the key held at the bottom by {force}: own, with its own key; free, with no play in any "
    "coupler; was and set, with the plays that stand in the file and those to set. of own: share of the first; wind: "
    "what its groove holds. takes most: to what most of the missing lift goes, and how much: the play of that coupler, "
    "or the ratio with all that gives way between. '!' after the note: less lift than was asked for."
)
STAGGER_NOTE = (
    "first: whose pallet opens first. apart: key travel from the pluck of the key's own pallet to that of the driven "
    "one. work: lost in a slow stroke. opens: from the opening (50 % of the wind) of the key's own groove to that of "
    "the driven one in the standard stroke. A dash: no play gives it, or the note is left as it is."
)
_MOST_PLACES = 6
LEFT = "left"


def schedule_sheet(
    found: Sequence[SetCoupler], naming: Naming, units: System, pitch: float, brief: bool = False
) -> Sheet:
    """One row per note of one coupler.

    Parameters
    ----------
    found : sequence of SetCoupler
        Of one coupler; where not `brief`, of all.
    naming : {"scientific", "trade", "german"}
    units : {"trade", "si"}
    pitch : float
        Of the nut's thread, m.
    brief : bool
        Short headings for a terminal.
    """
    columns = [
        *([] if brief else [Column("coupler", text=True), Column("division", text=True)]),
        Column("note", text=True),
        *_pair("play", "play", "m", units, 2, brief),
        Column("turns" if brief else "turns of the nut", "", 2),
        *([] if brief else [in_units("pluck of its own pallet as stated", "m", units, 2)]),
        in_units("own\nset" if brief else "pluck of its own pallet as set", "m", units, 2),
        *_pair("dr.", "pluck of the driven pallet", "m", units, 2, brief)[int(brief) :],
        *_pair("peak", "peak", "N", units, 0, brief),
        Column("step" if brief else "step of the peak from the note below", "%", 0, limit=100 * JUST_NOTICEABLE),
        *_pair("lift", "lift of the driven pallet", "m", units, 1, brief),
        *_pair("opens", "opening of the driven groove after its own", "s", units, 1, brief)[int(brief) :],
        Column("by", text=True),
    ]
    rows = [
        [*([] if brief else [one.name, one.division]), *_scheduled(one, step, naming, units, pitch, brief)]
        for one, step in zip(found, _steps(found), strict=True)
    ]
    return Sheet("schedule", "Couplers set", columns, rows, SCHEDULE_NOTE)


def _pair(short: str, full: str, si: str, units: System, places: int, brief: bool) -> list[Column]:
    """Columns of a figure as stated and as set."""
    words = (f"{short}\nwas", f"{short}\nset") if brief else (f"{full} as stated", f"{full} as set")
    return [in_units(one, si, units, places) for one in words]


def _scheduled(one: SetCoupler, step: float, naming: Naming, units: System, pitch: float, brief: bool) -> list[Cell]:
    now = one.chosen or one.stated

    def both(read: Callable[[Setting], float], si: str) -> list[Cell]:
        return [value(read(setting), si, units) if setting else math.nan for setting in (one.stated, now)]

    return [
        f"{note_name(one.note, naming)}{'!' if one.reason else ''}",
        *both(lambda setting: setting.play, "m"),
        (now.play - one.stated.play) / pitch if now and one.stated else math.nan,
        *both(lambda setting: setting.plucks[one.own_pallet], "m")[int(brief) :],
        *both(lambda setting: setting.plucks[one.pallet], "m")[int(brief) :],
        *both(lambda setting: setting.peak, "N"),
        100 * step,
        *both(lambda setting: setting.lifts[one.pallet], "m"),
        *both(lambda setting: setting.delay(one.pallet, one.own_pallet), "s")[int(brief) :],
        one.split.why if one.split and not one.reason else LEFT,
    ]


def _steps(found: Sequence[SetCoupler]) -> list[float]:
    """Step of the peak from the note below, coupler by coupler."""
    steps: list[float] = []
    for name in dict.fromkeys(one.name for one in found):
        own = [one for one in found if one.name == name]
        peaks = [now.peak if (now := one.chosen or one.stated) else math.nan for one in own]
        steps += neighbour_steps(np.array([one.note for one in own]), np.array(peaks)).tolist()
    return steps


def uneven(found: Sequence[SetCoupler]) -> list[int]:
    """Notes whose peak differs from that of the note below by more than a finger can tell."""
    return [one.note for one, step in zip(found, _steps(found), strict=True) if abs(step) > JUST_NOTICEABLE]


def opening_sheet(
    openings: Sequence[Opening],
    naming: Naming,
    units: System,
    wishes: Wishes,
    forces: Mapping[str, float],
    brief: bool = False,
) -> Sheet:
    """One row per driven pallet; `forces` hold the keys of each division at the bottom, N."""
    columns = [
        *([] if brief else [Column("division", text=True)]),
        Column("note", text=True),
        Column("pallet", text=True),
        in_units("own" if brief else "lift with its own key", "m", units, 2),
        in_units("free" if brief else "lift with no play", "m", units, 2),
        in_units("was" if brief else "lift as stated", "m", units, 2),
        in_units("set" if brief else "lift as set", "m", units, 2),
        Column("of\nown" if brief else "share of the lift with its own key", "%", 0),
        Column("wind" if brief else "share of the wind in its groove", "%", 0),
        Column("takes\nmost" if brief else "takes most", text=True),
        in_units("by" if brief else "lift that it takes", "m", units, 2),
    ]
    rows: list[list[Cell]] = []
    for one in openings:
        wants = math.inf if one.reason else wishes.lift_of(one.own)
        lift: Cell = value(one.chosen, "m", units)
        share: Cell = 100 * one.chosen / one.own if one.own else math.nan
        if brief and one.chosen < wants < math.inf:
            if wishes.of_own:
                share = _decided(100 * one.chosen / one.own, 100 * wants / one.own, 0)
            else:
                lift = _decided(value(one.chosen, "m", units), value(wants, "m", units), columns[-5].places)
        rows.append(
            [
                *([] if brief else [one.division]),
                f"{note_name(one.note, naming)}{'!' if lacks(one, wishes) else ''}",
                one.pallet,
                *(value(each, "m", units) for each in (one.own, one.free, one.stated)),
                lift,
                share,
                100 * one.share,
                one.taken_by if brief or one.taken_by in ("", RATIO) else f"play of {one.taken_by}",
                value(one.taken, "m", units),
            ]
        )
    return Sheet("lifts", "Do the driven pallets open?", columns, rows, _OPENING.format(force=_held(forces)))


def _held(forces: Mapping[str, float]) -> str:
    """The force that holds the keys down, with the divisions where they differ: "5 N (high, low), 20 N (pedal)"."""
    alike: dict[str, list[str]] = {}
    for division, force in forces.items():
        alike.setdefault(format_value(force, "N", "si"), []).append(division)
    return ", ".join(f"{force} ({', '.join(names)})" if len(alike) > 1 else force for force, names in alike.items())


def lacks(one: Opening, wishes: Wishes) -> bool:
    """Whether a pallet lifts less than was asked for, or could not be looked at."""
    return bool(one.reason) or one.chosen < wishes.lift_of(one.own)


def _decided(number: float, least: float, places: int | None) -> Cell:
    """A number below what is asked for, with as many decimals as it takes to see that."""
    if places is None:
        return number
    for more in range(places, _MOST_PLACES):
        if round(number, more) < round(least, _MOST_PLACES):
            return f"{number:.{more}f}"
    return number


def already_apart(
    found: Sequence[SetCoupler], asked: float, ranges: Callable[[Sequence[int]], str], units: System
) -> list[str]:
    """Of each coupler the notes whose plucks are farther apart with no play than was asked for, and how far.

    Parameters
    ----------
    found : sequence of SetCoupler
        Of one division.
    asked : float
        Key travel between the plucks, m.
    ranges : callable
        The words for notes.
    units : {"trade", "si"}
    """
    lines = []
    for name in dict.fromkeys(one.name for one in found):
        apart = {
            one.note: one.free.after(one.pallet, one.own_pallet)
            for one in found
            if one.name == name and one.free and one.staggered is None
        }
        apart = {note: way for note, way in apart.items() if way > asked}
        if apart:
            ends = dict.fromkeys(format_value(end, "m", units) for end in (min(apart.values()), max(apart.values())))
            lines.append(f"{name} at {ranges(list(apart))}: already {' to '.join(ends)} apart with no play.")
    return lines


def stagger_sheet(
    found: Sequence[SetCoupler], naming: Naming, units: System, apart: float, brief: bool = False
) -> Sheet:
    """Four settings of each coupler and note: no play, as stated, plucks so far apart, as set."""
    columns = [
        *([] if brief else [Column("division", text=True)]),
        Column("note", text=True),
        Column("coupler", text=True),
        Column("setting", text=True),
        in_units("play", "m", units, 2),
        Column("first", text=True),
        in_units("apart" if brief else "key travel between the plucks", "m", units, 2),
        in_units("peak", "N", units, 0),
        in_units("work", "J", units, 2),
        in_units("opens" if brief else "opening of the driven groove after its own", "s", units, 1),
    ]
    asked = f"{format_value(apart, 'm', units)} apart"
    rows: list[list[Cell]] = []
    for one in found:
        settings = {"no play": one.free, "as stated": one.stated, asked: one.staggered, "as set": one.chosen}
        for words, setting in settings.items():
            rows.append(
                [
                    *([] if brief else [one.division]),
                    note_name(one.note, naming),
                    one.name,
                    words,
                    *(_stagger_row(one, setting, units) if setting else [math.nan, "", *[math.nan] * 4]),
                ]
            )
    return Sheet("stagger", f"Plucks {asked}", columns, rows, STAGGER_NOTE)


def _stagger_row(one: SetCoupler, setting: Setting, units: System) -> list[Cell]:
    return [
        value(setting.play, "m", units),
        "own" if setting.first == one.own_pallet else setting.first,
        value(setting.after(one.pallet, one.own_pallet), "m", units),
        value(setting.peak, "N", units),
        value(setting.work, "J", units),
        value(setting.delay(one.pallet, one.own_pallet), "s", units),
    ]
