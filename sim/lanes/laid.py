"""Lanes ready to be played: what on which designs, and where their rows stand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from keyaction.sim.lanes.levels import Levels
from keyaction.sim.lanes.plays import Play, Watched
from keyaction.sim.lanes.sent import Kept, Numbers


@dataclass(frozen=True)
class Places:
    """Where rows of lanes stand.

    Attributes
    ----------
    fixed : int
        Rows that do not change.
    begun : tuple of int
        Those in which motions begin, all others at nought.
    first : int
        First of the widest turns, behind which is the record.
    turning : int
        How many turns there are.
    record : int
        Rows of the record.
    ways : tuple of int
        Where ways end.
    """

    fixed: int
    begun: tuple[int, ...]
    first: int
    turning: int
    record: int
    ways: tuple[int, ...]

    @property
    def height(self) -> int:
        """Rows of all."""
        return self.first + self.turning + self.record

    @property
    def wanted(self) -> list[int]:
        """Rows of turns, record and ways."""
        return [*range(self.first, self.height), *self.ways]

    def watched(self, rows: Any) -> Watched:
        """What is wanted, (lanes, rows), by what it is."""
        end = self.turning + self.record
        return Watched(rows[:, : self.turning], rows[:, self.turning : end], rows[:, end:])


@dataclass(frozen=True)
class Laid:
    """Lanes ready to be played.

    Attributes
    ----------
    play : Play
    levels : Levels
        Of the designs.
    constants : Kept
        `base` says which rows are those of the designs, if not all.
    known : mapping of int to float
        Rows that are 0 or 1 in all lanes.
    which : (lanes,) array of int
        Design of each lane.
    tenths : (lanes,) array of int, optional
        Rates of repeated strokes, in steps of 0.1 Hz.
    places : Places
    """

    play: Play
    levels: Levels
    constants: Kept
    base: Numbers | None
    known: Mapping[int, float]
    which: Numbers
    tenths: Numbers | None
    places: Places

    def __len__(self) -> int:
        return len(self.which)

    def made(self, machine: Any, lanes: slice) -> Made:
        """Some lanes on a device.

        Those of like numbers of steps are side by side: a block runs as long as its longest.
        """
        arrays, levels = machine.arrays, self.levels.at(machine)
        which, order, tenths = arrays.asarray(self.which[lanes]), None, None
        if self.tenths is not None:
            tenths = arrays.asarray(self.tenths[lanes])
            order = arrays.argsort(tenths * levels["h"][which], kind="stable")
            which, tenths = which[order], tenths[order]
        found = {name: values[which] for name, values in levels.items()}
        head = [self.play.drive(arrays, found, tenths), found["limits"], found["outer"]]
        steps = arrays.ceil(self.play.seconds(found, tenths) / found["h"]).astype("int32")
        return Made(arrays.concatenate(head, axis=1), found, steps, which, order)

    def rows(self, machine: Any, real: str, made: Made) -> Any:
        """Constants of lanes on a device."""
        return self.constants.at(
            machine, real, made.which if self.base is None else machine.arrays.asarray(self.base)[made.which]
        )


@dataclass(frozen=True)
class Made:
    """Lanes where they are played.

    Attributes
    ----------
    head : (lanes, k) array
        Of their rows.
    levels : mapping of name to array
        What is known of their designs.
    steps : (lanes,) array
        To be made.
    which : (lanes,) array
        Their designs.
    order : (lanes,) array, optional
        Places of those that were asked for, where they stand in another order.
    """

    head: Any
    levels: Mapping[str, Any]
    steps: Any
    which: Any
    order: Any

    def told(self, arrays: Any, figures: Any) -> Any:
        """Figures of lanes (lanes, k) in the order in which they were asked for."""
        if self.order is None:
            return figures
        found = arrays.empty_like(figures)
        found[self.order] = figures
        return found
