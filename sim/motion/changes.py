"""What changes from outside while a key is played."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Container, Iterable
from dataclasses import dataclass

from keyaction.models.algebra.names import Name


@dataclass(frozen=True)
class Change:
    """A least-jerk change of something that a train takes from outside: the wind in its box, the place of a rail.

    Parameters
    ----------
    of : Name
        The parameter; a part of the train must take it as an input.
    after : float
        What it becomes, SI; before, it is the train's own.
    start, end : float
        When the change begins and ends, s.

    Raises
    ------
    TypeError
        When `of` is no `Name`.
    ValueError
        When it does not end after it begins, or a value is no finite number.

    Examples
    --------
    >>> from keyaction.drives import Change
    >>> from keyaction.models.algebra.names import Name
    >>> Change(Name("box", "p_box"), 500.0, start=0.1, end=0.2).after  # Pa
    500.0
    """

    of: Name
    after: float
    start: float
    end: float

    def __post_init__(self) -> None:
        if not isinstance(self.of, Name):
            raise TypeError(f"a change of {self.of!r}: a Name is needed, such as Name('box', 'p_box')")
        if not all(map(math.isfinite, (self.after, self.start, self.end))) or self.end <= self.start:
            raise ValueError(
                f"a change to {self.after:g} from {self.start:g} s to {self.end:g} s: finite numbers are needed, and "
                "it must end after it begins"
            )


def check_changes(given: object) -> None:
    """Refuse what a drive cannot take as its changes.

    Raises
    ------
    TypeError
        When it is no tuple of `Change`.
    ValueError
        When two are of the same input.
    """
    if not isinstance(given, (tuple, list)) or not all(isinstance(one, Change) for one in given):
        raise TypeError(f"changes is {given!r}; a tuple of Change is needed, for a single one (change,)")
    for name, times in Counter(change.of for change in given).items():
        if times > 1:
            raise ValueError(f"'{name.what}' of {name.part} has {times} changes; a drive changes an input once")


def check_taken(changes: Iterable[Change], inputs: Container[Name]) -> None:
    """Refuse a change of what a train does not take from outside.

    Raises
    ------
    ValueError
        Naming the first such.
    """
    for change in changes:
        if change.of not in inputs:
            raise ValueError(f"the train does not take '{change.of.what}' of {change.of.part} from outside")
