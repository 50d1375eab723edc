"""A case on the bench: read once, and again with every set of edits, all of it in memory."""

from __future__ import annotations

import tomllib
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, field
from threading import Lock

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import case_from
from keyaction.cases.action.trains import train_of
from keyaction.models.train.train import Train
from keyaction.sim.bench.edits import Edit, latest, overlaid

_KEPT = 32
"""Cases with edits that are kept read."""


@dataclass(frozen=True)
class Workbench:
    """A case and what is kept of it under edits.

    Attributes
    ----------
    case : Case
        As its file has it.
    """

    case: Case
    _kept: OrderedDict[tuple[Edit, ...], Case] = field(default_factory=OrderedDict, init=False, repr=False)
    _lock: Lock = field(default_factory=Lock, init=False, repr=False)

    def with_edits(self, edits: Sequence[Edit]) -> Case:
        """The case with some fields moved.

        Raises
        ------
        keyaction.CaseProblem
            With every defect that the edits make.
        keyaction.sim.bench.edits.UnknownField
            When an edit names what the case does not have.
        """
        key = latest(edits)
        if not key:
            return self.case
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        case = self.case
        data = overlaid(case, tomllib.loads(case.text), key)
        found = case_from(case.path, case.text, data, settings=case.settings, within=case.within)
        with self._lock:
            self._kept[key] = found
            while len(self._kept) > _KEPT:
                self._kept.popitem(last=False)
        return found

    def train(self, edits: Sequence[Edit], note: int) -> Train:
        """The train of a note under edits; errors as of `with_edits` and `keyaction.train_of`."""
        return train_of(self.with_edits(edits), note)
