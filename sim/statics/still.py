"""A structure's equations with nothing moving, as terms: what presses of many designs need of them, written as C."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from keyaction.models.algebra.names import FINGER, Name
from keyaction.models.train.structure import Structure
from keyaction.sim.code.kernel import load_module, scalar_module
from keyaction.sim.code.layout import CHANGE, DRIVE, Layout, read_layout
from keyaction.sim.code.terms import Terms
from keyaction.sim.statics.balance import ASIDE, PINHOLE
from keyaction.sim.statics.equilibria import FORWARD
from keyaction.sim.statics.kinematics import Kinematics, kinematics

_WAY, _FINGER = DRIVE.index("x0"), DRIVE.index("k_finger")
WAY, STIFFNESS = "way", "stiffness"
"""What drives: the finger's way and its stiffness."""


@dataclass(frozen=True)
class Places:
    """What stands where in a structure's arrays.

    Attributes
    ----------
    unknown, rows, slips, owner : tuple of int
        As `keyaction.sim.statics.following.follow` has them.
    columns : tuple of int
        Observables: gap, bottom felt, finger's pad, key force; none is sought.
    travel : int
        The observable that is the key's way.
    turns : tuple of int
        States that are turns.
    """

    unknown: tuple[int, ...]
    rows: tuple[int, ...]
    slips: tuple[int, ...]
    owner: tuple[int, ...]
    columns: tuple[int, ...]
    travel: int
    turns: tuple[int, ...]


def places_of(layout: Layout, geometry: Kinematics, key: str) -> Places:
    """The places of a structure whose played key has that name."""
    ways, speeds, pressures = (layout.of_kind(kind) for kind in ("coordinate", "speed", "pressure"))
    names = layout.speech[2], layout.element(key, "bottom").stretch, layout.element(FINGER).stretch, "key_force"
    return Places(
        (*ways, *pressures),
        (*speeds, *pressures),
        tuple(layout.of_kind("slip")),
        tuple(geometry.slips),
        tuple(layout.observables.index(name) for name in names),
        layout.observables.index("key_travel"),
        tuple(i for i, body in enumerate(layout.bodies) if body.unit == "rad"),
    )


class Still:
    """The equations of a structure at rest.

    Parameters
    ----------
    structure : Structure
    """

    def __init__(self, structure: Structure) -> None:
        path, text = scalar_module(structure)
        self.structure = structure
        self.layout = read_layout(load_module(path, text, "_plain").LAYOUT)
        self.geometry = kinematics(structure)
        self.places = places_of(self.layout, self.geometry, structure[0].name)
        self.terms = Terms(text, self.geometry.text)
        grooves = {member.name for member in structure if member.part.role == "groove"}
        names = enumerate(self.layout.parameters)
        self._outlets = {i for i, name in names if name.part in grooves and name.what == "A_out"}

    # -- what the equations are given ------------------------------------------------------------------
    def parameter(self, index: int) -> int:
        """A parameter; a groove that has no way out has a pinhole, as in `keyaction.sim.statics.balance.Balance`."""
        terms = self.terms
        given, least = terms.place("p", index), terms.number(PINHOLE)
        return terms.of("pick", terms.of(">", given, least), given, least) if index in self._outlets else given

    def named(self, part: str, what: str) -> int:
        """A parameter by its name."""
        return self.parameter(self.layout.parameters.index(Name(part, what)))

    def _drive(self, way: int) -> Callable[[int], int]:
        """The drive of a finger that stands still, with what comes from outside as it is."""

        def place(index: int) -> int:
            if index == _WAY:
                return way
            if index == _FINGER:
                return self.terms.place(STIFFNESS, 0)
            outer, which = divmod(index - len(DRIVE), len(CHANGE))
            if outer >= 0 and which == CHANGE.index("before"):
                return self.parameter(self.layout.parameters.index(self.layout.inputs[outer]))
            return self.terms.number(1.0 if outer >= 0 and which == CHANGE.index("speed") else 0.0)

        return place

    def _state(self, index: int) -> int:
        lasting = self.layout.kinds[index] in ("coordinate", "pressure", "slip")
        return self.terms.place("y", index) if lasting else self.terms.number(0.0)

    def results(self, function: str, way: int, state: Callable[[int], int] | None = None) -> dict[int, int]:
        """What a function of the module gives, the finger being at `way`."""
        arrays = {"y": state or self._state, "p": self.parameter, "d": self._drive(way)}
        return self.terms.results(function, arrays)

    @property
    def way(self) -> int:
        """The finger's way."""
        return self.terms.place(WAY, 0)

    # -- functions -------------------------------------------------------------------------------------
    def balanced(self) -> list[tuple[str, int]]:
        """What `keyaction.sim.statics.equilibria.balanced` gives."""
        terms, places = self.terms, self.places
        here, slopes = self.results("rates", self.way), self.results("jacobian", self.way)
        ahead = self.results("rates", terms.of("+", self.way, terms.number(FORWARD)))
        moving = sum(kind not in ("impulse", "work") for kind in self.layout.kinds)
        columns, stored = (*places.unknown, *places.slips), list[tuple[str, int]]()
        for i, row in enumerate(places.rows):
            stored.append((f"off[{i}]", here[row]))
            change = terms.of("-", ahead[row], here[row])
            stored.append((f"along[{i}]", terms.of("/", change, terms.number(FORWARD))))
            for j, column in enumerate(columns):
                slope = slopes.get(row * moving + column, terms.number(0.0))
                stored.append((f"by[{i * len(columns) + j}]", slope))
        return stored

    def looked(self) -> list[tuple[str, int]]:
        """What `keyaction.sim.statics.events.looked` gives."""
        seen = self.results("observe", self.way)
        found = [seen[column] for column in self.places.columns]
        return [(f"found[{i}]", one) for i, one in enumerate([*found, self.terms.number(0.0)])]

    def observed(self) -> list[tuple[str, int]]:
        """All observables."""
        seen = self.results("observe", self.way)
        return [(f"seen[{i}*W]", seen[i]) for i in range(len(self.layout.observables))]

    def counted(self) -> list[tuple[str, int]]:
        """What the unknowns are counted in, and within which of it slips build up: as `Balance` has them."""
        terms, layout, places = self.terms, self.layout, self.places
        dip = self.named(self.structure[0].name, "dip")
        box = self.named(next(one.name for one in self.structure if one.part.role == "box"), "p_box")
        nought, least = terms.number(0.0), terms.number(1.0)
        scale = [
            terms.of(
                "pick",
                terms.of("==", could, nought),
                terms.number(ASIDE),
                terms.of("*", terms.of("abs", could), dip),
            )
            for could in self._own_ratios()
        ]
        pressure = terms.of("pick", terms.of(">", box, least), box, least)
        scale += [pressure for _ in layout.of_kind("pressure")]
        scale.append(dip)
        speeds = set(layout.of_kind("speed"))
        rates = self.results("rates", nought, lambda i: terms.number(1.0 if i in speeds else 0.0))
        reach = [
            terms.of("/", least, terms.of("*", terms.of("abs", rates[slip]), scale[owner]))
            for slip, owner in zip(places.slips, places.owner, strict=True)
        ]
        stored = [(f"scale[{i}]", one) for i, one in enumerate(scale)]
        return stored + [(f"reach[{i}]", one) for i, one in enumerate(reach)]

    def _own_ratios(self) -> list[int]:
        """`keyaction.sim.statics.kinematics.Kinematics.own_ratios` at rest."""
        terms, geometry, nought = self.terms, self.geometry, self.terms.number(0.0)
        slopes = terms.results("slopes", {"q": lambda _: nought, "p": self.parameter})
        ratio = [nought] * len(self.layout.bodies)
        ratio[0] = terms.of("/", terms.number(1.0), slopes[0])

        def carried(i: int) -> int:
            product = terms.of("*", ratio[geometry.links[i].upstream], slopes[1 + 2 * i])
            return terms.of("/", product, slopes[2 + 2 * i])

        for i, link in enumerate(geometry.links):
            goes, at = carried(i), link.downstream
            if link.kind == "coupler":
                goes = terms.of("pick", terms.of(">", ratio[at], goes), ratio[at], goes)
            ratio[at] = self._unless_held(self.layout.bodies[at].part, goes, ratio[at])
        driven = {link.downstream for link in geometry.links}
        for at in dict.fromkeys(link.upstream for link in geometry.links if link.upstream not in driven):
            ratio[at] = terms.of("pick", terms.of("==", ratio[at], nought), ratio[0], ratio[at])
        for i, link in enumerate(geometry.links):
            at = link.downstream
            ratio[at] = terms.of("pick", terms.of("==", ratio[at], nought), carried(i), ratio[at])
        return ratio

    def _unless_held(self, part: str, goes: int, before: int) -> int:
        name = Name(part, "f_held")
        if name not in self.layout.parameters:
            return goes
        held = self.terms.of(">", self.parameter(self.layout.parameters.index(name)), self.terms.number(0.0))
        return self.terms.of("pick", held, before, goes)

    def begun(self) -> list[tuple[str, int]]:
        """Of a state at rest, the finger at nought: the key's way, the widest gap, and the gap over each groove."""
        seen, layout = self.results("observe", self.terms.number(0.0)), self.layout
        found = [seen[self.places.travel], seen[self.places.columns[0]]]
        found += [seen[layout.observables.index(layout.seen_of(pallet, "seat_gap"))] for pallet, _ in self.grooves()]
        return [(f"told[{i}]", one) for i, one in enumerate(found)]

    def grooves(self) -> list[tuple[str, int]]:
        """Every pallet with the state that is the pressure in its groove."""
        found = []
        for i, member in enumerate(self.structure):
            if member.part.role == "pallet":
                groove = next(one.name for one in self.structure[i:] if one.part.role == "groove")
                found.append((member.name, self.layout.owners.index((groove, "p"))))
        return found


@lru_cache(maxsize=32)
def still_of(structure: Structure) -> Still:
    """The equations of a structure at rest."""
    return Still(structure)
