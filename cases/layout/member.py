"""What a layout has to know of the parts of a train."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from keyaction.cases.fields.asked import Asked
from keyaction.cases.fields.context import Course
from keyaction.models.fields.fields import Field
from keyaction.models.instrument.run import ROLLER, Rod

_ARMS = {"key": ("front", "arm"), "lever": ("in_arm", "out_arm"), "pallet": ("eye",)}
"""By role, the fields that a path is drawn with."""
_KEYS = {"balanced": "key", "tail-hinged": "key-hung", "heel-hinged": "key-pedal"}
FIGURES = {"length": "m", "splay": "rad", "turn": "rad"}
"""What a layout tells of parts, with the unit."""


@dataclass(frozen=True)
class Member:
    """One part of a train.

    Parameters
    ----------
    name, kind, role : str
    pushed : bool
        Of a rod.
    fields : sequence of Field
    courses : mapping of str to course
        Its fields as they were read.
    """

    name: str
    kind: str
    role: str
    pushed: bool
    fields: Sequence[Field]
    courses: Mapping[str, Course]

    @property
    def arms(self) -> tuple[str, ...]:
        """Its fields that a path is drawn with."""
        return _ARMS.get(self.role, ())

    def size(self, path: str, note: int) -> float | None:
        """A size at a note, m; None where it is not given."""
        found = self.courses.get(path, {}).get(note)
        return None if found is None else float(found.value)

    def asks(self, path: str) -> bool:
        """Whether a field takes a figure of the layout, at any note."""
        return any(isinstance(one, Asked) for one in self.courses.get(path, {}).values())

    def kind_of_station(self, note: int) -> str:
        """What it is in a run: keys by where they are hinged."""
        if self.role != "key":
            return self.kind if self.role != "pallet" else "pallet"
        balance = self.courses.get("balance", {}).get(note)
        return _KEYS.get(str(balance.value), "key") if balance is not None else "key"

    def across(self, note: int) -> float:
        """How wide it is along the row of its neighbours, m; 0 where that is not known."""
        lies = self.courses.get("lies", {}).get(note)
        thin = self.role != "rod" or (lies is not None and lies.value == "on-edge")
        for path in ("diameter", "thickness", "width") if thin else ("diameter", "width"):
            if (found := self.size(path, note)) is not None:
                return found
        return 0.0


@dataclass(frozen=True)
class Run:
    """The parts of a train from key to pallet, and its groove."""

    stations: tuple[Member, ...]
    rods: tuple[Member, ...]
    groove: Member

    @property
    def rollers(self) -> tuple[Member, ...]:
        """Its rollers."""
        return tuple(one for one in self.stations if one.kind == ROLLER)

    @property
    def names(self) -> tuple[str, ...]:
        """Of all its parts, in order."""
        return tuple(one.name for one in self._in_order())

    def _in_order(self) -> Iterator[Member]:
        for station, rod in zip(self.stations, self.rods, strict=False):
            yield from (station, rod)
        yield self.stations[-1]

    def drawn_rods(self) -> tuple[Rod, ...]:
        """Its rods as a path has them."""
        return tuple(Rod(one.name, one.kind, one.pushed) for one in self.rods)

    def figures(self, splayed: str) -> dict[str, str]:
        """Every figure that its layout may tell, with its unit."""
        found = {f"{one.name}.{what}": FIGURES[what] for one in self.rods for what in ("length", "splay")}
        for one in self.stations[1:-1]:
            found[f"{one.name}.{'length' if one.kind == ROLLER else 'turn'}"] = "m" if one.kind == ROLLER else "rad"
        if any(one.name == splayed for one in self.stations):
            found |= {f"{splayed}.{arm}": "m" for arm in _ARMS["lever"]}
        return found


def run_of(members: Sequence[Member]) -> Run | None:
    """The run of a train; None where its parts are not in the order that a run needs."""
    at = next((i for i, one in enumerate(members) if one.role == "pallet"), None)
    groove = next((one for one in members if one.role == "groove"), None)
    if at is None or groove is None:
        return None
    stations, rods = tuple(members[: at + 1 : 2]), tuple(members[1:at:2])
    roles = [one.role for one in stations]
    if roles != ["key", *["lever"] * (len(roles) - 2), "pallet"] or any(one.role != "rod" for one in rods):
        return None
    return Run(stations, rods, groove) if len(rods) == len(stations) - 1 else None
