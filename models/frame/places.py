"""Where axes, hooks and the key's surface go as members grow."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.models.climate.year import Floats
from keyaction.models.frame.member import FLOOR, KEY_FRONT, VECTORS, Member

UP = 2
"""Which of the three directions is up."""


@dataclass(frozen=True)
class Axes:
    """How far things have gone since the day of regulation.

    Attributes
    ----------
    carried : mapping of str to (3, D) array
        By what members carry, m: right, back, up. Hooks and the key's surface beyond what their own part goes.
    still : (3, D) array
        Of whatever no member carries: zeros.
    """

    carried: Mapping[str, Floats]
    still: Floats

    def axis(self, part: str) -> Floats:
        """Of a part's axis, (3, D), m."""
        return self.carried.get(part, self.still)

    def hook(self, end: str) -> Floats:
        """Of a rod's hook, ``ROD.start`` or ``ROD.end``, beyond what its part goes, (3, D), m."""
        return self.carried.get(end, self.still)

    @property
    def surface(self) -> Floats:
        """How much the key's surface rises by its own wood, (D,), m."""
        risen: Floats = self.carried.get(KEY_FRONT, self.still)[UP]
        return risen


def chain(members: Sequence[Member], name: str) -> Iterator[Member]:
    """A member, the one that it stands on, and so on down to the floor; a circle ends where it closes."""
    by_name, seen = {one.name: one for one in members}, set[str]()
    while name != FLOOR and name in by_name and name not in seen:
        seen.add(name)
        yield by_name[name]
        name = by_name[name].on


def moves(members: Sequence[Member], note: int, growth: Mapping[str, Floats]) -> Axes:
    """How far members move what they carry: each by its length times its growth, along the chain down to the floor.

    Parameters
    ----------
    members : sequence of Member
    note : int
        Whose lengths count.
    growth : mapping of str to (D,) array
        Growth over length of every member by name, as `keyaction.models.frame.strain.strain` has it.

    Returns
    -------
    Axes

    Examples
    --------
    A post of 2 m that grows by 1 in 1000 lifts what it carries by 2 mm; `members` is that post alone:

    >>> import numpy as np
    >>> from keyaction.models.frame.member import Member
    >>> from keyaction.models.materials.library import default_library
    >>> oak = default_library().get("white-oak")
    >>> post = Member("post", oak, {60: 2.0}, "up", "along", carries=("roller",))
    >>> moves([post], 60, {"post": np.array([0.0, 1e-3])}).axis("roller")[2]
    array([0.   , 0.002])
    """
    days = max((len(one) for one in growth.values()), default=1)
    still = np.zeros((3, days))
    own = {one.name: np.outer(VECTORS[one.towards], one.length[note] * growth[one.name]) for one in members}
    carried = {
        thing: sum((own[below.name] for below in chain(members, one.name)), still)
        for one in members
        for thing in one.carries
    }
    return Axes(carried, still)
