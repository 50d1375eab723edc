"""What a row of the registry of quantities says: unit and words, sense, source, resolution, and its tables."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from keyaction.sim.figures.verdict import Fate

Source = Literal["slow press", "stroke", "presses", "sideways", "repetition", "train", "neighbours", "trackers"]
"""What a quantity is read from; ``presses`` are those at speed, ``neighbours`` the notes beside a note.

``sideways`` is the stroke of a train whose rods whip; lanes, which play that too, do not tell of it.
"""
NOT_IN_LANES = ("presses", "sideways")
"""Sources of quantities that designs played in lanes do not have."""
UNPLAYED = ("slow press", "train")
"""Sources of quantities that are told before anything is played."""
Sense = Literal["more", "less", "neither"]
"""Of what a builder usually wants: common practice."""
Table = Literal["notes", "figures", "glance", "regulation", "compared", "brief", "pictures", "front"]
"""Where quantities are shown.

``notes``: the terminal's table of all notes; ``figures``, ``glance``, ``regulation``: sheets of the report;
``compared``, ``brief``: a comparison's figures, and its table of all notes; ``pictures``, ``front``: what is drawn of
a study, and of its Pareto front, unless others are asked for.
"""


@dataclass(frozen=True)
class Resolution:
    """How far apart two values are, as the share that a check may allow.

    Attributes
    ----------
    step : float
        SI; a difference below it means nothing.
    against : float, optional
        SI; the difference is a share of this instead of the value.
    least : float
        SI; smaller values count as this large, and nothing is a share of them.
    floor : float
        SI; all values below it say the same.
    counted : bool
        A whole number: it is the same, or it is wrong.
    """

    step: float = 0.0
    against: float | None = None
    least: float = 1e-12
    floor: float = float("-inf")
    counted: bool = False

    def difference(self, ours: float, theirs: float) -> float:
        """0 where both are the same or neither is there; NaN, or infinity for a count, where only one is."""
        if ours == theirs or (np.isnan(ours) and np.isnan(theirs)):  # infinite ones too, as shares of no wind
            return 0.0
        if self.counted:
            return float("inf")
        apart = abs(max(ours, self.floor) - max(theirs, self.floor))
        if apart < self.step:
            return 0.0
        return apart / (self.against or max(abs(theirs), self.least))

    def differences(self, ours: ArrayLike, theirs: ArrayLike) -> NDArray[np.float64]:
        """`difference` of arrays, pair by pair."""
        a, b = np.asarray(ours, dtype=np.float64), np.asarray(theirs, dtype=np.float64)
        same = (a == b) | (np.isnan(a) & np.isnan(b))
        if self.counted:
            return np.where(same, 0.0, np.inf)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            apart = np.abs(np.maximum(a, self.floor) - np.maximum(b, self.floor))
            share = apart / (self.against or np.maximum(np.abs(b), self.least))
        return np.where(same | (apart < self.step), 0.0, share)

    def share(self, first: ArrayLike, other: ArrayLike) -> NDArray[np.float64]:
        """`other` less `first` as a share of the first; NaN where the first is nothing, or one of them is not there."""
        a, b = np.asarray(first, dtype=np.float64), np.asarray(other, dtype=np.float64)
        with np.errstate(divide="ignore", invalid="ignore"):
            apart = np.where(np.abs(b - a) < self.step, 0.0, b - a)
            return np.asarray(np.where(np.abs(a) >= self.least, apart / np.abs(a), np.nan))


@dataclass(frozen=True)
class Spot:
    """Where a quantity stands in a table: by rising `place`, last without one; its own words and decimal places."""

    table: Table
    place: float = float("inf")
    heading: str = ""
    places: int | None = None


class Named:
    """What is named by the function that computes it, whose docstring is its definition."""

    compute: Callable[..., Any]

    @property
    def name(self) -> str:
        return self.compute.__name__

    @property
    def definition(self) -> str:
        return " ".join((self.compute.__doc__ or "").split())


@dataclass(frozen=True)
class OfSeveral(Named):
    """A figure of a note whose key opens several pallets: of each of them, or of the coupled note.

    `compute` gives it in its SI `unit`; `label` is its name for people, `heading` short words for tables, `places` how
    many decimals the trade's unit is shown with.
    """

    compute: Callable[..., float]
    unit: str
    label: str
    heading: str
    places: int
    percent: bool = False

    @property
    def variable(self) -> str:
        """Its name in a result: of a pallet another, as `pallet_lift` is a curve already."""
        return f"pallets_{self.name.removeprefix('pallet_')}" if self.name.startswith("pallet_") else self.name


@dataclass(frozen=True)
class Quantity(Named):
    """A figure of the trade: how to compute it, and all that tables, files, sweeps and checks must know of it.

    Attributes
    ----------
    compute : callable
        Of a `Record` to an SI float, NaN where a note has none; its name is the quantity's, its docstring the
        definition. Of ``neighbours`` and ``trackers`` what their own registries say.
    unit : str
        SI; empty for plain numbers.
    label : str
        Name for people.
    heading : str
        Short words for tables; a line break where they may wrap.
    places : int, optional
        Decimal places in the trade's units; three significant digits without.
    source : str
    sense : str
    resolution : Resolution
    watched : bool
        The compiled lanes find it as they go; any other is read from a motion that they record.
    always : bool
        Every sound motion has it: a design without it has failed.
    felt : bool
        A force that the finger meets, for which the just-noticeable difference holds.
    limit : float, optional
        Values beyond it, in either sense, are marked.
    percent : bool
        A share that is shown in per cent.
    without : tuple of Fate
        Verdicts of a note that does not have it, whatever is computed.
    possible : tuple of float
        SI; a note or design with a figure outside it has failed. Wide: what no action can do, give or take rounding.
    tables : tuple of Spot
    """

    compute: Callable[..., Any]
    unit: str
    label: str
    heading: str = ""
    places: int | None = None
    source: Source = "slow press"
    sense: Sense = "neither"
    resolution: Resolution = Resolution()
    watched: bool = False
    always: bool = False
    felt: bool = False
    limit: float | None = None
    percent: bool = False
    without: tuple[Fate, ...] = ()
    possible: tuple[float, float] = (float("-inf"), float("inf"))
    tables: tuple[Spot, ...] = ()


@dataclass(frozen=True)
class Entry:
    """A quantity in one table, with the words and decimal places that it has there."""

    quantity: Quantity
    heading: str
    places: int | None

    @property
    def name(self) -> str:
        return self.quantity.name


def registry(*rows: Quantity) -> dict[str, Quantity]:
    """Rows by name, in their order."""
    return {row.name: row for row in rows}


def in_table(table: Table, rows: Iterable[Quantity]) -> list[Entry]:
    """What stands in a table, in its order; rows without a place there come last, in their own order."""
    spots = sorted(((spot, row) for row in rows for spot in row.tables if spot.table == table), key=_place)
    return [
        Entry(row, spot.heading or row.heading, row.places if spot.places is None else spot.places)
        for spot, row in spots
    ]


def _place(found: tuple[Spot, Quantity]) -> float:
    return found[0].place
