"""A study's designs read piece by piece, whatever their number: memory holds one piece."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.analysis.columns import AS_IN_CASE, Input, Moves, read_inputs
from keyaction.sim.analysis.indices import GROUPS, sobol_rows
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.on_disk import OnDisk

Floats = NDArray[np.float64]

PIECE = 1 << 17
"""Designs in a piece, about."""
OK = "ok"
FEW = 20
"""Different values of an input that are counted; more are many."""
_RUNS, _RUN = 64, 256
"""Places spread evenly over the designs, and rows read at each, for a first idea of a quantity."""


@dataclass(frozen=True)
class Piece:
    """Some designs, one after the other.

    Attributes
    ----------
    rows : slice
        Where they stand in the result.
    places : (n,) array of int or None
        Row of the plan of each, from the piece's first; None where they follow one another without a gap.
    count : int
        Rows of the plan that the piece spans.
    """

    rows: slice
    places: NDArray[np.int64] | None
    count: int

    def placed(self, values: Floats) -> Floats:
        """Values at their rows of the plan, NaN in rows that are not there."""
        if self.places is None:
            return values
        found = np.full((self.count, *values.shape[1:]), np.nan)
        found[self.places] = values
        return found


@dataclass(frozen=True)
class Reach:
    """What values an input has.

    Attributes
    ----------
    low, high : float
        SI; NaN for texts, and where none is known.
    kinds : tuple
        Its different values, rising, if they are texts or at most twenty; else empty.
    """

    low: float
    high: float
    kinds: tuple[Any, ...]


class Pieces:
    """The designs of a result.

    Parameters
    ----------
    result : Result
    plan : str
    second_order : bool
        Whether a Sobol' plan has the rows for interactions.
    """

    def __init__(self, result: Result, plan: str, second_order: bool) -> None:
        self.result, self.plan, self.second_order = result, plan, second_order
        self.rows = result["design"]
        self.unordered = tuple(read_inputs(result))

    @cached_property
    def block(self) -> int:
        """Rows of the plan that belong together."""
        if self.plan == "sobol":
            return sobol_rows(len(self.unordered), self.second_order)
        return len(self.unordered) + 1 if self.plan == "morris" else 1

    @cached_property
    def blocks(self) -> int:
        """Base points, trajectories or rows of the plan up to the last design that is there."""
        return -(-(int(self.rows[-1]) + 1) // self.block) if len(self.rows) else 0

    def __iter__(self) -> Iterator[Piece]:
        """All designs in turn; base points and trajectories are not cut apart."""
        count, block = len(self.rows), self.block
        if block == 1:
            yield from (_without_gap(first, min(first + PIECE, count)) for first in range(0, count, PIECE))
            return
        each = max(PIECE // block // GROUPS * GROUPS, GROUPS) * block
        for start in range(0, self.blocks * block, each):
            stop = min(start + each, self.blocks * block)
            rows = slice(self._row(start), self._row(stop))
            places = np.asarray(self.rows[rows], dtype=np.int64) - start
            whole = len(places) == stop - start
            yield Piece(rows, None if whole else places, stop - start)

    def _row(self, place: int) -> int:
        """The first design whose row of the plan is not before a place."""
        if int(self.rows[-1]) == len(self.rows) - 1:
            return min(place, len(self.rows))
        return bisect_left(range(len(self.rows)), place, key=lambda i: int(self.rows[i]))

    def fine(self, note: int, rows: slice) -> NDArray[np.bool_]:
        """Which of some designs were played at a note."""
        status = self.result["status"]
        if isinstance(status, OnDisk) and status.names is not None:
            return np.asarray((status.names == OK)[status.numbers((rows, note))])
        return np.asarray(status[rows, note] == OK)

    def values(self, quantity: str, note: int, rows: slice, fine: NDArray[np.bool_] | None = None) -> Floats:
        """A quantity of some designs at a note, SI; NaN where a design failed or has none."""
        fine = self.fine(note, rows) if fine is None else fine
        found = np.array(self.result[quantity][rows, note], dtype=np.float64)
        found[~fine | ~np.isfinite(found)] = np.nan
        return found

    def sample(self, quantity: str, note: int) -> Floats:
        """Some of its values, from all over the designs."""
        count = len(self.rows)
        firsts = np.unique(np.linspace(0, max(count - _RUN, 0), _RUNS).astype(int)).tolist()
        return np.concatenate([self.values(quantity, note, slice(k, min(k + _RUN, count))) for k in firsts])

    @cached_property
    def statuses(self) -> list[Counter[str]]:
        """At each note how many designs have which status."""
        return self._counted("status")

    @cached_property
    def verdicts(self) -> list[Counter[str]]:
        """At each note of how many designs what becomes."""
        return self._counted("verdict")

    @cached_property
    def limits(self) -> list[Counter[str]]:
        """At each note of how many designs what limits the repetition rate; empty where none was searched."""
        return self._counted("repetition_limit") if "repetition_limit" in self.result else []

    def _counted(self, name: str) -> list[Counter[str]]:
        texts, found = self.result[name], [Counter[str]() for _ in self.result.notes]
        for first in range(0, len(self.rows), PIECE):
            rows = slice(first, first + PIECE)
            if isinstance(texts, OnDisk) and texts.names is not None:
                table = texts.numbers(rows)
                for note, one in enumerate(found):
                    counts = np.bincount(table[:, note], minlength=len(texts.names))
                    one.update({str(texts.names[i]): int(counts[i]) for i in np.flatnonzero(counts)})
            else:
                for note, one in enumerate(found):
                    one.update(str(text) for text in texts[rows, note])
        return found

    @cached_property
    def reaches(self) -> dict[str, Reach]:
        """What values each input has, by its name."""
        return self._scanned[0]

    @cached_property
    def inputs(self) -> tuple[Input, ...]:
        """What was varied, in the plan's order; of a Sobol' plan that order is told by its rows.

        Raises
        ------
        NotThePlan
            When the rows are not those of a Sobol' plan.
        """
        found = self.unordered
        return found if self.plan != "sobol" or not found else tuple(found[i] for i in self._scanned[1].order())

    @cached_property
    def _scanned(self) -> tuple[dict[str, Reach], Moves]:
        scans, moves = [_Scan(one) for one in self.unordered], Moves(len(self.unordered))
        for piece in self:
            columns = [one.piece(piece.rows.start, piece.rows.stop) for one in self.unordered]
            for scan, column in zip(scans, columns, strict=True):
                scan.add(column)
            if self.plan == "sobol":
                moves.add([piece.placed(np.asarray(one, np.float64)).reshape(-1, self.block) for one in columns])
        return {one.name: scan.reach() for one, scan in zip(self.unordered, scans, strict=True)}, moves

    def places(self, inputs: Sequence[Input], rows: slice) -> Floats:
        """Some designs in the unit cube, (n, inputs): as stored, or between each input's lowest and highest value."""
        return np.column_stack([self._place(one, rows) for one in inputs])

    def _place(self, one: Input, rows: slice) -> Floats:
        if f"{PLACE}{one.name}" in self.result:
            return np.asarray(self.result[f"{PLACE}{one.name}"][rows], dtype=np.float64)
        values = np.asarray(one.piece(rows.start, rows.stop), dtype=np.float64)
        reach = self.reaches[one.name]
        low, high = (0.0, float(len(one.names) - 1)) if one.names is not None else (reach.low, reach.high)
        return (values - low) / (high - low) if high > low else np.zeros(len(values))


PLACE = "unit_"
"""Beginning of the name of an input's places in the unit cube."""


def _without_gap(first: int, last: int) -> Piece:
    return Piece(slice(first, last), None, last - first)


class _Scan:
    """The values of one input, so far."""

    def __init__(self, one: Input) -> None:
        self._names = one.names
        self._seen = np.zeros(0 if one.names is None else len(one.names), dtype=bool)
        self._low, self._high = np.inf, -np.inf
        self._few: list[float] | None = []

    def add(self, column: NDArray[Any]) -> None:
        """Take the next piece."""
        if self._names is not None:
            self._seen |= np.bincount(column, minlength=len(self._names)) > 0
            return
        there = column[np.isfinite(column)]
        self._low = min(self._low, float(np.min(there, initial=np.inf)))
        self._high = max(self._high, float(np.max(there, initial=-np.inf)))
        if self._few is not None:
            fresh = np.ones(len(there), dtype=bool)
            for value in self._few:
                fresh &= there != value
            self._few += np.unique(there[fresh]).tolist()
            self._few = self._few if len(self._few) <= FEW else None

    def reach(self) -> Reach:
        """What they were."""
        if self._names is not None:
            return Reach(np.nan, np.nan, tuple(str(t) for t in self._names[self._seen] if t != AS_IN_CASE))
        if not self._high >= self._low:
            return Reach(np.nan, np.nan, ())
        return Reach(self._low, self._high, tuple(sorted(self._few or ())))
