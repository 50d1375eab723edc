"""The smallest pallets of a case: every note pressed as drawn, its shortest opening found, and that pressed again."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import check_trains, select
from keyaction.models.formulas.supply import in_series
from keyaction.models.parts.pedal_key import PedalKey
from keyaction.models.train.train import Train
from keyaction.sim.figures.verdict import Fate
from keyaction.sim.run.standings import standings
from keyaction.sim.sizes.shape import Shape
from keyaction.sim.sizes.shorten import shortened
from keyaction.sim.sizes.sized import Sized, custom_of, left_out, remarks_of
from keyaction.sim.sizes.supply import feed_of
from keyaction.sim.sizes.tried import Tried, tried
from keyaction.sim.wind.stops import drawn_on, names_of, read_stops, with_stops

SHARE, LEAST, MOST_SHARE = 0.90, 0.50, 0.99
"""Share of the wind that is asked for unless said otherwise, and the least and most that may be."""
_NO_PALLET = (Fate.HANGS, Fate.CIPHER, Fate.UNKNOWN)


class ShareProblem(ValueError):
    """A share that cannot be asked for."""


def check_share(share: float) -> float:
    """The share itself.

    Raises
    ------
    ShareProblem
        If it is not from 50 to 99 %.
    """
    if not LEAST <= share <= MOST_SHARE:
        raise ShareProblem(
            f"a share of {100 * share:g} %; allowed: {100 * LEAST:g} to {100 * MOST_SHARE:g} % (all of the wind takes "
            "an opening without end)"
        )
    return share


def smallest_pallets(
    case: Case,
    notes: str | Sequence[int] | None = None,
    stops: str | Sequence[str] | None = None,
    chord: str | Sequence[int] | None = None,
    share: float = SHARE,
    keep_eye: bool = False,
    jobs: int = 0,
) -> tuple[Sized, ...]:
    """The smallest opening and pallet of each note that feeds its stops, and what it saves at the finger.

    Openings are made shorter (or longer), their width is bound to the groove. Steady flow: gap and opening in series,
    then toes and leak, and before them the box with what the chord's other notes draw from it as drawn. Every length is
    found in closed form and pressed slowly, until the lift of the press gives the same length again.

    Parameters
    ----------
    case : Case
        Of `read_case`, or a division of an instrument.
    notes : str or sequence of int, optional
        ``"C4"``, ``"C2:G4"``, a comma list, or numbers (C4 = 60); by default all.
    stops : str or sequence of str, optional
        Names of the stops that are drawn, in a text with commas between, or ``"all"`` or ``"none"``; by default as
        the case says.
    chord : str or sequence of int, optional
        Notes that are held at the same time, as `notes`. They take from each other only where the box has a supply.
    share : float
        Of the pressure of the box with no key down that each groove is to hold, 0.5 to 0.99.
    keep_eye : bool
        Whether eye and spring must keep their places; by default both go back in proportion where the pallet ends
        before them, if that plucks more lightly.
    jobs : int
        Threads; 0 means one per core.

    Returns
    -------
    tuple of Sized
        One for each note, in the order given: ``drawn`` and ``smallest`` (None where there is none, with ``why``) have
        ``length``, ``lift``, ``pluck`` ...; ``custom``, ``too_small``, ``saved``. Relief pallets, several to
        a groove, and one that a pneumatic lever moves are not sized, as ``left_out`` says.

    Raises
    ------
    keyaction.NoteProblem
        When a note is outside the compass.
    keyaction.TrainProblem
        With every missing field, naming part and field.
    ValueError
        When a stop is not there, or the share is out of range.

    Examples
    --------
    >>> import keyaction as ka
    >>> (one,) = ka.smallest_pallets(ka.read_case("demo-wood"), "C4", stops="all")
    >>> round(1e3 * one.drawn.length), round(1e3 * one.smallest.length)  # mm
    (185, 32)
    >>> round(one.share_of(one.smallest), 3), round(one.smallest.share, 3)  # closed form, and the press
    (0.9, 0.9)
    >>> one.smallest.pluck < one.drawn.pluck
    True
    """
    check_share(share)
    wanted, held = select(case, notes), [] if chord is None else select(case, chord)
    trains = check_trains(case, sorted({*wanted, *held}))
    if stops is not None:
        names = read_stops(stops, names_of(trains.values()))
        trains = {note: with_stops(train, names) for note, train in trains.items()}
    standing = standings(trains, case.strokes, jobs)
    drawn = {note: _Drawn(Shape(one.train), tried(one, not left_out(one.train))) for note, one in standing.items()}
    outflow = {note: drawn[note].outflow for note in held}
    begun = []
    for note in wanted:
        others = math.fsum(flow for other, flow in outflow.items() if other != note)
        begun.append(_begun(note, trains[note], drawn[note], others, share))
    return tuple(shortened([(one, drawn[one.note].shape) for one in begun], case.strokes, keep_eye, jobs))


@dataclass(frozen=True)
class _Drawn:
    """A note as it is drawn."""

    shape: Shape
    tried: Tried

    @property
    def outlet(self) -> float:
        return self.shape.groove.figure("A_out")

    @property
    def outflow(self) -> float:
        """Its gap, opening and toes as one orifice, m2."""
        return in_series((self.tried.passed.inlet, self.outlet)) if self.tried.passed else 0.0


def _begun(note: int, train: Train, drawn: _Drawn, others: float, share: float) -> Sized:
    """A note before a size is sought: what it needs, or why nothing is to be found."""
    groove, supply, one = drawn.shape.groove, feed_of(train), drawn.tried
    toes, leak = groove.figure("feet"), groove.values.number("leak")
    inlet = supply.wanted(share, drawn.outlet, others) if drawn.outlet > 0.0 else 0.0
    out, pedal = left_out(train), issubclass(train.key.part, PedalKey)
    found = Sized(
        note, share, tuple(drawn_on(groove)), toes, leak, drawn.outlet, supply, others, inlet, one,
        custom_of(drawn.shape, one.turn), seat_leak=drawn.shape.pallet.figure("A_leak"), pedal=pedal, left_out=out,
    )  # fmt: skip
    return replace(found, why=out or _why_none(found), remarks=() if out else tuple(remarks_of(train)))


def _why_none(found: Sized) -> str:
    one = found.drawn
    if found.toes <= 0.0:
        return "no stop is drawn: nothing to feed, and no size is needed"
    if found.supply.pressure <= 0.0:
        return "no wind: nothing to feed"
    if one.verdict.fate in _NO_PALLET:
        return str(one.verdict)
    if one.passed is None:
        return "the pallet does not open: no length of opening feeds the stops"
    if math.isnan(found.inlet):
        left = found.supply.left(found.others + found.outlet)
        return f"the box itself falls to {100 * left:.1f} % of its pressure: the supply robs, and no pallet mends it"
    return ""
