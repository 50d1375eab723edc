"""What a diagnosis finds: causes of single notes with their amounts, and the sheet as a whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from keyaction.models.readings.figures import NAMES
from keyaction.models.readings.readings import Readings
from keyaction.sim.diagnosis.answers import Answers
from keyaction.sim.diagnosis.curves import UNKNOWN
from keyaction.sim.diagnosis.evidence import Seen
from keyaction.sim.diagnosis.hypotheses import Hypothesis
from keyaction.sim.diagnosis.neighbours import Drift, Hint
from keyaction.sim.diagnosis.posterior import Belief
from keyaction.sim.diagnosis.shared import Base
from keyaction.sim.motion.integrate import Floats

TOLD = 0.7
"""Probability of a fault from which on a note counts as faulty."""
BEYOND = 3.0
"""Standard deviations beyond which a departure is marked."""


@dataclass(frozen=True)
class Named:
    """One fault of a cause, with its probability within the note and its amount.

    Attributes
    ----------
    hypothesis : Hypothesis
    probability : float
    amount, low, high : float
        The likeliest, and the interval that holds it with 95 %, SI.
    """

    hypothesis: Hypothesis
    probability: float
    amount: float
    low: float
    high: float


@dataclass(frozen=True)
class Cause:
    """A cause of what a note shows: faults that the figures hardly tell apart, the likeliest first."""

    name: str
    probability: float
    faults: tuple[Named, ...]


@dataclass(frozen=True)
class NoteFound:
    """One note.

    Attributes
    ----------
    note : int
    belief : Belief
    causes : tuple of Cause
        The likeliest first.
    rival : Named, optional
        What the likeliest could be instead, with the probability of that.
    sharing : tuple of Named
        Faults of other causes that the figures do not part from the first (`keyaction.sim.diagnosis.parted`), each with
        the probability that its cause stands in place of the first.
    share : (figures,) array
        What was read less what is expected, each by its own standard deviation; NaN where it was not read.
    expected : (figures,) array
        Figures with what all share, as drawn else, SI.
    squared, freedom : float, int
        Chi-squared of the note without a fault, and how many figures were read.
    left : float
        Chi-squared of the likeliest model.
    poor : bool
        Whether no fault of the table explains the note.
    heard, speaks : int
        What it does, and what it would do as drawn.
    """

    note: int
    belief: Belief
    causes: tuple[Cause, ...]
    rival: Named | None
    sharing: tuple[Named, ...]
    share: Floats
    expected: Floats
    squared: float
    freedom: int
    left: float
    poor: bool
    heard: int
    speaks: int

    @property
    def faulty(self) -> bool:
        """Whether it is told as faulty."""
        return self.belief.faulty >= TOLD

    @property
    def places(self) -> tuple[str, ...]:
        """Of every cause, by probability: "1", or "1 =" of those that share the first place, then "2" ..."""
        equal = {one.hypothesis.fault.cause for one in self.sharing}
        if not equal:
            return tuple(str(i + 1) for i in range(len(self.causes)))
        equal.add(self.causes[0].name)
        after = iter(range(len(equal) + 1, len(self.causes) + 2))
        return tuple("1 =" if cause.name in equal else str(next(after)) for cause in self.causes)

    @property
    def misread(self) -> str:
        """The figure that should be read again, empty without one."""
        worst = int(np.argmax(self.belief.misread))
        return NAMES[worst] if self.belief.misread[worst] >= 0.5 else ""

    @property
    def unclear(self) -> bool:
        """Whether something is likely enough to look again, but not to be told as a fault."""
        return not self.faulty and not self.misread and (self.belief.none < 0.5 or self.poor)

    @property
    def otherwise(self) -> bool:
        """Whether the sheet has it do something else than it would as drawn."""
        return UNKNOWN not in (self.heard, self.speaks) and self.heard != self.speaks

    @property
    def contradicted(self) -> bool:
        """Whether the word of the sheet stands against its figures, so that no cause is told of it."""
        return self.otherwise and not self.faulty and self.freedom > 0

    @property
    def far(self) -> tuple[str, ...]:
        """Figures that lie far off although the note counts as sound."""
        if self.faulty or self.doubtful:
            return ()
        return tuple(name for name, share in zip(NAMES, np.abs(self.share), strict=True) if share > BEYOND)

    @property
    def doubtful(self) -> bool:
        """Whether something is told of it, but no fault."""
        return not self.faulty and bool(self.unclear or self.misread or self.otherwise)


@dataclass(frozen=True)
class Diagnosis:
    """A sheet, diagnosed.

    Attributes
    ----------
    answers : Answers
    readings : Readings
    base : Base
        What all notes share.
    drifts : tuple of Drift
        Where neighbours lie off alike besides.
    hints : tuple of Hint
    found : tuple of NoteFound
        Rising by note.
    rate : float
        Share of notes with faults that the sheet comes to.
    squares : tuple of float
        Chi-squared of all notes as drawn, with what they share, without drifts, and with their faults; what is
        expected last.
    unpressed : mapping of int to str
        Notes that the model cannot press as drawn, and why.
    seen : tuple of Seen
        What single notes were judged by.
    even : float
        Factor on the variance that a good regulation leaves, as the notes of this sheet scatter.
    asked : tuple of int
        Notes that are told; the others of the sheet count in what is shared and usual alone.
    """

    answers: Answers
    readings: Readings
    base: Base
    drifts: tuple[Drift, ...]
    hints: tuple[Hint, ...]
    found: tuple[NoteFound, ...]
    rate: float
    squares: tuple[float, float, float, float, float]
    unpressed: Mapping[int, str]
    seen: tuple[Seen, ...]
    even: float
    asked: tuple[int, ...]

    @property
    def told(self) -> tuple[NoteFound, ...]:
        """The notes that are told."""
        return tuple(one for one in self.found if one.note in self.asked)

    @property
    def others(self) -> tuple[NoteFound, ...]:
        """The notes that are not."""
        return tuple(one for one in self.found if one.note not in self.asked)

    @property
    def middle(self) -> int:
        """The middle one of the notes that are told."""
        return self.told[len(self.told) // 2].note

    @property
    def nothing(self) -> bool:
        """Whether nothing certain is told; notes can be in doubt."""
        return not self.base.steps and not self.drifts and not any(one.faulty for one in self.told)
