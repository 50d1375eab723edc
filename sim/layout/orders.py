"""Orders of the chest side by side: the same action laid out otherwise."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.layout.within import Within
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.parts import PARTS
from keyaction.models.train.train import TrainProblem
from keyaction.sim.figures.evenness import neighbour_steps
from keyaction.sim.figures.limits import NO_FORCE
from keyaction.sim.figures.verdict import Fate
from keyaction.sim.layout.figures import Laid, lay, layout_of

_NONE = math.nan


@dataclass(frozen=True)
class Compared:
    """One order of the chest, with what it costs.

    Attributes
    ----------
    order : str
    aside : float
        How far pallets' rods must be let stand beside their lines on the board, m.
    rows, least : int, optional
        Rows of the roller board, and the fewest that any board could have; None without a board.
    height : float
        Room that the rows need, m.
    longest, total : float
        The longest roller, and all of them together, m; of a fan the ways to the side.
    splay : float
        Largest splay, rad.
    twist, lost : float
        Largest twist at the pluck (rad), and the most key travel that it takes up (m).
    mass : float
        Mean effective mass at the key, kg.
    lightest, heaviest : float
        Pluck force, N.
    step : float
        Largest step of the pluck force between neighbours, as a share of their mean, without its sign.
    unsound : int
        Notes that do not both speak and fall silent.
    problem : str
        Why this order cannot be built; empty if it can.
    """

    order: str
    aside: float = _NONE
    rows: int | None = None
    least: int | None = None
    height: float = _NONE
    longest: float = _NONE
    total: float = _NONE
    splay: float = _NONE
    twist: float = _NONE
    lost: float = _NONE
    mass: float = _NONE
    lightest: float = _NONE
    heaviest: float = _NONE
    step: float = _NONE
    unsound: int = 0
    problem: str = ""


ASIDE = (0.002, 0.004, 0.006, 0.008, 0.010)
"""m that arms are let stand aside, one after the other, where rollers of another order hold each other fast."""


_ROOM = "10 m"
"""Room for rows of any board: another order may need a higher one, which is what the comparison tells."""


def with_order(case: Case, order: str, aside: float | None = None) -> Case:
    """The same case with its chest in another order, its board as high as it needs to be.

    Parameters
    ----------
    case : Case
    order : str
    aside : float, optional
        How far pallets' rods may stand aside on the board, m; by default as in the case.

    Returns
    -------
    Case

    Raises
    ------
    NoLayout
        If it has no layout.
    keyaction.CaseProblem
        If it cannot be laid out so.
    """
    parts = {**PARTS, **{spec.kind: spec.part for spec in case.parts}}
    within = case.within or Within("", "", layout_of(case).keyboard)
    tables = {**within.tables, "chest": {**within.tables.get("chest", {}), "order": order}}
    if layout_of(case).board is not None:
        stands = {} if aside is None else {"aside": f"{1e3 * aside:g} mm"}
        tables["board"] = {**within.tables.get("board", {}), "height": _ROOM, **stands}
    return read_case(case.path, parts, case.settings, replace(within, tables=tables))


def compare_orders(
    case: Case, orders: Sequence[str], notes: Sequence[int], jobs: int = 0, done: Callable[[str], None] | None = None
) -> list[Compared]:
    """What each order costs, figures of touch over the given notes and those of the board over all.

    Parameters
    ----------
    case : Case
        With a layout.
    orders : sequence of str
        Names of orders; the case's own name stands for its own, a list of its own included.
    notes : sequence of int
    jobs : int
        Threads; 0 means one per core.
    done : callable, optional
        Told each order as it is done.

    Returns
    -------
    list of Compared
        In the order given. One that cannot be built says why.
    """
    own, found = layout_of(case).order, []
    for order in orders:
        try:
            other = case if order == own else _laid_otherwise(case, order)
            found.append(summed(order, other, lay(other, notes, jobs)))
        except (CaseProblem, TrainProblem) as problem:
            found.append(Compared(order, problem=_first(str(problem))))
        if done:
            done(order)
    return found


def _laid_otherwise(case: Case, order: str) -> Case:
    """The case in another order, its arms aside by no more than it takes.

    Raises
    ------
    keyaction.CaseProblem
        If it cannot be laid out however far aside they are let stand.
    """
    board = layout_of(case).board
    try:
        return with_order(case, order)
    except CaseProblem:
        if board is None:
            raise
        for aside in (one for one in ASIDE if one > board.sizes.aside):
            with suppress(CaseProblem):
                return with_order(case, order, aside)
        raise


def _first(told: str) -> str:
    """The first of several defects, and how many there are."""
    lines = told.splitlines()
    return lines[0] + (f" (and {len(lines) - 1} more)" if len(lines) > 1 else "")


def summed(order: str, case: Case, laid: Sequence[Laid]) -> Compared:
    """The figures of a whole layout."""
    layout = layout_of(case)
    board = layout.board
    ways = [abs(place.sideways) for place in layout.places.values()]
    if board:
        ways = [one.length for one in board.rollers.values()]
    plucks = np.array([one.pluck for one in laid])
    steps = neighbour_steps(np.array([one.note for one in laid]), plucks, NO_FORCE)
    return Compared(
        order,
        board.sizes.aside if board else _NONE,
        board.rows if board else None,
        max(board.density, board.chain) if board else None,
        board.height if board else _NONE,
        max(ways, default=_NONE),
        sum(ways),
        _most([one.splay for one in laid]),
        _most([one.twist for one in laid]),
        _most([one.lost for one in laid]),
        float(np.mean([one.mass for one in laid])) if laid else _NONE,
        -_most(-plucks),
        _most(plucks),
        _most(np.abs(steps)),
        sum(one.standing.verdict.fate is not Fate.SPEAKS for one in laid),
    )


def _most(values: Sequence[float] | np.ndarray) -> float:
    """The largest of those that are numbers; NaN where none is."""
    there = [float(one) for one in values if math.isfinite(one)]
    return max(there, default=_NONE)
