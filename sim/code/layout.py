"""What stands where in the arrays of a train: states, parameters, recorded quantities, and whose each of them is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from keyaction.models.algebra.names import Name
from keyaction.models.train.speech import GAP, LEAST, MOST

if TYPE_CHECKING:
    from keyaction.models.train.equations import System


DRIVE = (
    "t_start",
    *(f"x{i}" for i in range(6)),
    *(f"f{i}" for i in range(6)),
    "k_finger",
    "alpha_finger",
    "m_rider",
)
"""Layout of the drive vector: start of the piece, polynomials of way and force, the finger or the mass."""
CHANGE = ("before", "change", "start", "speed")
"""What follows in it for each parameter that changes from outside: value, its change, begin, one over duration."""


class Recorded(NamedTuple):
    """A rod, felt, shaft or spring whose stretch and force are recorded: title, whose, where on it, kind, unit."""

    title: str
    part: str
    place: str
    kind: str
    unit: str

    @property
    def stretch(self) -> str:
        """The recorded quantity that is its stretch."""
        return f"stretch_{self.title}"

    @property
    def force(self) -> str:
        """The recorded quantity that is its force."""
        return f"force_{self.title}"


class Body(NamedTuple):
    """A coordinate: title, the part whose it is, which of its bodies, its number along a rod in pieces, unit."""

    title: str
    part: str
    piece: str
    number: int
    unit: str

    @property
    def way(self) -> str:
        """The state that is its way."""
        return f"q_{self.title}"


@dataclass(frozen=True)
class Layout:
    """Names along the arrays of a train.

    Attributes
    ----------
    states : tuple of str
        The state vector: ways, speeds, slips, pressures, accounts of work.
    owners : tuple of (str, str)
        Whose and what each state is.
    kinds : tuple of str
        ``coordinate``, ``speed``, ``slip``, ``pressure``, ``impulse`` or ``work``, state by state.
    accounts : tuple of (str, int)
        Accounts of work with their places in the state vector.
    bodies : tuple of Body
        The coordinates, as the state vector begins.
    parameters : tuple of Name
    spellings : tuple of str
        The parameters as the equations spell them.
    observables : tuple of str
    watched : tuple of (str, str)
        Whose and what each observable is.
    elements : tuple of Recorded
    inputs : tuple of Name
        What a drive may set from outside beside the finger.
    """

    states: tuple[str, ...]
    owners: tuple[tuple[str, str], ...]
    kinds: tuple[str, ...]
    accounts: tuple[tuple[str, int], ...]
    bodies: tuple[Body, ...]
    parameters: tuple[Name, ...]
    spellings: tuple[str, ...]
    observables: tuple[str, ...]
    watched: tuple[tuple[str, str], ...]
    elements: tuple[Recorded, ...]
    inputs: tuple[Name, ...]

    @property
    def drive_size(self) -> int:
        """Length of a drive vector: the finger's, and four figures for each input."""
        return len(DRIVE) + len(CHANGE) * len(self.inputs)

    def element(self, part: str, place: str = "") -> Recorded:
        """The element of a part at a place of it."""
        return next(one for one in self.elements if (one.part, one.place) == (part, place))

    def body(self, part: str, piece: str = "") -> Body:
        """A body of a part."""
        return next(one for one in self.bodies if (one.part, one.piece) == (part, piece))

    def seen_of(self, part: str, what: str) -> str:
        """The observable that is this of a part, such as the ``seat_gap`` of a pallet; `KeyError` if there is none."""
        if (part, what) not in self.watched:
            raise KeyError(f"{part} has no '{what}' that is recorded")
        return self.observables[self.watched.index((part, what))]

    @property
    def speech(self) -> tuple[str, str, str]:
        """Observables that tell whether all grooves are full, all are empty, and all pallets shut."""
        if LEAST in self.observables:
            return LEAST, MOST, GAP
        return "groove_pressure", "groove_pressure", "seat_gap"

    def of_kind(self, *kinds: str) -> list[int]:
        """Places of the states of these kinds."""
        return [i for i, kind in enumerate(self.kinds) if kind in kinds]


def layout_of(system: System) -> Layout:
    """The layout of a system."""
    return Layout(
        states=tuple(row.name for row in system.states),
        owners=tuple((row.of.part, row.of.what) for row in system.states),
        kinds=tuple(row.kind for row in system.states),
        accounts=tuple((row.of.body, i) for i, row in enumerate(system.states) if row.kind == "work"),
        bodies=tuple(Body(c.name, c.part, c.piece, c.number, c.unit) for c in system.coordinates),
        parameters=tuple(p.name for p in system.params),
        spellings=tuple(p.symbol.name for p in system.params),
        observables=tuple(o.name for o in system.observables),
        watched=tuple((o.part, o.what) for o in system.observables),
        elements=tuple(Recorded(e.name, e.part, e.place, e.kind, e.unit) for e in system.elements),
        inputs=tuple(i.name for i in system.outer),
    )


def layout_text(layout: Layout) -> str:
    """The layout as a literal in a generated module."""
    plain = {
        "states": layout.states,
        "owners": layout.owners,
        "kinds": layout.kinds,
        "accounts": layout.accounts,
        "bodies": tuple(tuple(body) for body in layout.bodies),
        "parameters": tuple((name.part, name.what) for name in layout.parameters),
        "spellings": layout.spellings,
        "observables": layout.observables,
        "watched": layout.watched,
        "elements": tuple(tuple(one) for one in layout.elements),
        "inputs": tuple((name.part, name.what) for name in layout.inputs),
    }
    return "LAYOUT = {\n" + "".join(f"    {key!r}: {value!r},\n" for key, value in plain.items()) + "}\n"


def read_layout(plain: dict[str, Any]) -> Layout:
    """The layout that a generated module holds."""
    return Layout(
        states=plain["states"],
        owners=plain["owners"],
        kinds=plain["kinds"],
        accounts=plain["accounts"],
        bodies=tuple(Body(*one) for one in plain["bodies"]),
        parameters=tuple(Name(*one) for one in plain["parameters"]),
        spellings=plain["spellings"],
        observables=plain["observables"],
        watched=plain["watched"],
        elements=tuple(Recorded(*one) for one in plain["elements"]),
        inputs=tuple(Name(*one) for one in plain["inputs"]),
    )
