"""Readings of a sheet: every figure of every note as it was read, with what it was read with and in which air."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from keyaction.models.readings.figures import BALANCE, BY_NAME, NAMES, RULER, Tool

Floats = NDArray[np.float64]

DISAGREE = 3.0
"""Standard deviations of a difference beyond which two readings of one figure disagree."""


@dataclass(frozen=True)
class Head:
    """What a sheet says of itself.

    Attributes
    ----------
    case, key : str
        Title of the case that it was made for, and the beginning of its fingerprint; empty where the sheet has none.
    division : str
        Of an instrument.
    day : date, optional
    temperature, humidity, pressure : float
        Of the air (K; 0 to 1) and in the box (Pa) while it was measured; NaN where it was not written down.
    ruler, balance : float
        Standard deviations of readings, m and N.
    by, remark : str
        Who measured, and what else is to be known.
    """

    case: str = ""
    key: str = ""
    division: str = ""
    day: date | None = None
    temperature: float = math.nan
    humidity: float = math.nan
    pressure: float = math.nan
    ruler: float = RULER
    balance: float = BALANCE
    by: str = ""
    remark: str = ""

    def error(self, figure: str) -> float:
        """Standard deviation of one reading of a figure, SI."""
        tool: Tool = BY_NAME[figure].tool
        return self.ruler if tool == "ruler" else self.balance


@dataclass(frozen=True)
class Reading:
    """One figure of one note as it was read, SI; `line` is that of the file, 0 without one."""

    note: int
    figure: str
    value: float
    line: int = 0


@dataclass(frozen=True)
class Disagreement:
    """Readings of one figure of one note that lie further apart than their errors explain, SI."""

    note: int
    figure: str
    values: tuple[float, ...]


@dataclass(frozen=True)
class Readings:
    """A sheet as it came back.

    Attributes
    ----------
    head : Head
    rows : tuple of Reading
        Several of one figure of one note where it was read several times.
    speech : mapping of int to str
        What notes do, by the words of `keyaction.models.readings.figures.SPEECH`; of the others nothing is said.
    remarks : mapping of int to str
    path : Path, optional
        Its file.
    told : tuple of str
        What is to be known of how its file was taken: notes in another naming, columns without a figure.
    """

    head: Head = field(default_factory=Head)
    rows: tuple[Reading, ...] = ()
    speech: Mapping[int, str] = field(default_factory=dict)
    remarks: Mapping[int, str] = field(default_factory=dict)
    path: Path | None = None
    told: tuple[str, ...] = ()

    @cached_property
    def notes(self) -> tuple[int, ...]:
        """Notes of which anything is known, rising."""
        return tuple(sorted({one.note for one in self.rows} | set(self.speech)))

    @cached_property
    def figures(self) -> tuple[str, ...]:
        """Figures that were read anywhere, in the order of the sheet."""
        there = {one.figure for one in self.rows}
        return tuple(name for name in NAMES if name in there)

    @cached_property
    def _by_place(self) -> dict[tuple[int, str], list[float]]:
        found: dict[tuple[int, str], list[float]] = {}
        for one in self.rows:
            found.setdefault((one.note, one.figure), []).append(one.value)
        return found

    def values(self, figures: Sequence[str] = NAMES, notes: Sequence[int] | None = None) -> Floats:
        """Means of the readings, (notes, figures), SI; NaN where there is none."""
        return self._table(figures, notes, lambda read, _: float(np.mean(read)))

    def errors(self, figures: Sequence[str] = NAMES, notes: Sequence[int] | None = None) -> Floats:
        """Standard deviations of those means, (notes, figures), SI; NaN where there is none.

        Readings that disagree count as no better than half of what lies between them.
        """

        def spread(read: Sequence[float], one: float) -> float:
            apart = (max(read) - min(read)) / 2
            return max(one / math.sqrt(len(read)), apart if _disagree(read, one) else 0.0)

        return self._table(figures, notes, spread)

    @cached_property
    def disagreements(self) -> tuple[Disagreement, ...]:
        """Where readings of one figure of one note disagree."""
        pairs = sorted(self._by_place.items(), key=lambda pair: (pair[0][0], NAMES.index(pair[0][1])))
        return tuple(
            Disagreement(note, figure, tuple(read))
            for (note, figure), read in pairs
            if _disagree(read, self.head.error(figure))
        )

    def _table(
        self, figures: Sequence[str], notes: Sequence[int] | None, of: Callable[[Sequence[float], float], float]
    ) -> Floats:
        chosen = self.notes if notes is None else notes
        found = np.full((len(chosen), len(figures)), np.nan)
        for i, note in enumerate(chosen):
            for k, figure in enumerate(figures):
                read = self._by_place.get((note, figure))
                if read:
                    found[i, k] = of(read, self.head.error(figure))
        return found


def _disagree(read: Sequence[float], error: float) -> bool:
    return max(read) - min(read) > DISAGREE * math.sqrt(2.0) * error
