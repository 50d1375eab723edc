"""Defects of all that a command is given, gathered to be told at once."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from typing import TypeVar

from keyaction.cases.text.defects import CaseProblem
from keyaction.cases.tuning.targets import TuneProblem
from keyaction.models.notes import NoteProblem
from keyaction.sim.commands.chosen import Choice, Subject, choose, only_one

Made = TypeVar("Made")


class Gathered:
    """What is wrong so far.

    Parameters
    ----------
    wrong : sequence of str
        Defects that are known already.
    """

    def __init__(self, wrong: Sequence[str] = ()) -> None:
        self.wrong = list(wrong)

    def tried(self, work: Callable[[], Made]) -> Made | None:
        """What comes of some work; None, and its defects gathered, where what it reads is wrong."""
        try:
            return work()
        except (CaseProblem, NoteProblem, TuneProblem) as problem:
            self.wrong += [line for line in str(problem).split("\n") if line not in self.wrong]
            return None

    def subject(self, options: argparse.Namespace, what: str) -> Subject | None:
        """What CASE names; with all of its notes where --notes is wrong, so that files can be read all the same."""
        choice = self.choice(options)
        return None if choice is None else only_one(choice, what)

    def choice(self, options: argparse.Namespace) -> Choice | None:
        """The same before the one division is taken."""
        found = self.tried(lambda: choose(options, options.notes))
        return found or (self.tried(lambda: choose(options)) if options.notes else None)

    @property
    def told(self) -> str:
        """All of it, a line each."""
        return "\n".join(self.wrong)
