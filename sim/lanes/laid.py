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
        """Some lanes on a device."""
        arrays = machine.arrays
        which = arrays.asarray(self.which[lanes])
        found = {name: values[which] for name, values in self.levels.at(machine).items()}
        tenths = None if self.tenths is None else arrays.asarray(self.tenths[lanes])
        head = [self.play.drive(arrays, found, tenths), found["limits"], found["outer"]]
        steps = arrays.ceil(self.play.seconds(found, tenths) / found["h"]).astype("int32")
        return Made(arrays.concatenate(head, axis=1), found, steps)

    def rows(self, machine: Any, real: str, lanes: slice) -> Any:
        """Constants of some lanes on a device."""
        which = self.which[lanes]
        return self.constants.at(machine, real, which if self.base is None else self.base[which])


@dataclass(frozen=True)
class Made:
    """Lanes where they are played: head of their rows (lanes, k), what is known of their designs, steps to be made."""

    head: Any
    levels: Mapping[str, Any]
    steps: Any
