"""What a train is built from, and what is wrong with it before any field is looked at."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from keyaction.cases.text.near import hint
from keyaction.models.algebra.names import part_name_defect
from keyaction.models.fields.values import Given
from keyaction.models.parts import PARTS
from keyaction.models.parts.base import Part
from keyaction.models.train.structure import Outlet

Kind = str | type[Part]
"""A kind of part by its name in a case, or the class itself."""
GivenPart = tuple[Kind, str, Mapping[str, Given]]
GivenBranch = tuple[Kind, str, Mapping[str, Given], Outlet | None]
GivenCoupler = tuple[Kind, str, Mapping[str, Given], Outlet | None, Outlet | None]
"""A coupler: where it takes hold, and what it moves."""
AnyPart = GivenPart | GivenBranch | GivenCoupler


def with_values(part: AnyPart, values: Mapping[str, Given]) -> AnyPart:
    """The part with other values, joined as it was."""
    return (*part[:2], values, *part[3:])


def given_defects(parts: Sequence[AnyPart]) -> list[str]:
    """What is wrong with kinds, names and outlets of the parts of a train.

    Parameters
    ----------
    parts : sequence of (kind, name, values), (kind, name, values, outlet) or (kind, name, values, outlet, end)

    Returns
    -------
    list of str
        A sentence for each defect, empty if there is none.
    """
    defects = [text for number, one in enumerate(parts, 1) for text in _part_defects(number, one)]
    if defects:
        return defects
    names = Counter(one[1] for one in parts)
    return [f"{times} parts are called {name}; names must differ" for name, times in names.items() if times > 1]


def _part_defects(number: int, given: Sequence[object]) -> list[str]:
    if not isinstance(given, (tuple, list)) or len(given) not in (3, 4, 5):
        return [f"part {number}: (kind, name, values) is needed, or (kind, name, values, outlet)"]
    kind, name, _, *ends = given
    unnamed = part_name_defect(name)
    where = f"part {number}" if unnamed else name
    told = [f"called {name!r}; {unnamed}" if unnamed else "", _kind_defect(kind), *map(_outlet_defect, ends)]
    return [f"{where}: {text}" for text in told if text]


def _kind_defect(kind: object) -> str:
    if isinstance(kind, str):
        return "" if kind in PARTS else f"unknown part {kind!r}{hint(kind, PARTS)}"
    if isinstance(kind, type) and issubclass(kind, Part):
        return ""
    return f"its kind is {kind!r}; the name of a kind or a class of Part is needed"


def _outlet_defect(after: object) -> str:
    if after is None:
        return ""
    if isinstance(after, tuple) and len(after) == 2 and all(isinstance(word, str) for word in after):
        return ""
    return f"it leads on from {after!r}; (part, outlet) is needed, such as ('key', 'out')"
