"""What a case leaves to the program, with where each value comes from."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple


class Assumption(NamedTuple):
    """A value that a case relies on and does not give.

    Attributes
    ----------
    table : str
        The table of the case that lacks the value; empty for what no field of a case can change.
    owner : str
        The part, or the table where that is no part's.
    field : str
        Dotted path in the table, or the name of the figure.
    value : str
        For people.
    source : str
        Where it comes from; empty if nothing is said.
    """

    table: str
    owner: str
    field: str
    value: str
    source: str

    @property
    def line(self) -> str:
        """The whole in one line."""
        if not self.table:
            return f"{self.owner}, {self.field} = {self.value}: {self.source}"
        source = f"default: {self.source}" if self.source else "default"
        return f"{self.table}, field '{self.field}' = {self.value}: {source}"


def grouped(found: Iterable[Assumption]) -> list[tuple[str, str, str]]:
    """(Field, value and source, owners): equal assumptions of several owners share a row."""
    groups: dict[tuple[str, str], list[str]] = {}
    for one in found:
        groups.setdefault((one.field, f"{one.value}: {one.source or 'default'}"), []).append(one.owner)
    return [(field, told, ", ".join(owners)) for (field, told), owners in groups.items()]
