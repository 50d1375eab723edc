"""Trains that branch, and trains that take something from outside: the demo train with parts of the tests' own."""

from demo_train import DEMO, LIBRARY, given

from keyaction.models.algebra.builder import Shift
from keyaction.models.parts.levers import Square
from keyaction.models.parts.wind import Box
from keyaction.models.train.train import Train, build_train

FIELDS = {name: (kind, fields) for kind, name, fields in DEMO}


class RailSquare(Square):
    """A square whose pin sits on a rail that moves along the line of the rod that comes in."""

    kind = "rail-square"

    @classmethod
    def resolve(cls, values):
        super().resolve(values)
        values.set("rail", 0.0, "m", "place of the rail along the incoming rod", "at rest")

    @classmethod
    def mounted(cls, builder, port):
        from dataclasses import replace

        rail = builder.outer("rail", "m", "place of the rail along the incoming rod")
        along = 1 if port.name.endswith(".in") else 0
        return replace(port, shift=Shift(along * rail.symbol, along * rail.rate, "rail"))


class GivenBox(Box):
    """A pallet box whose pressure changes from outside."""

    kind = "given-box"

    @classmethod
    def pressure_of(cls, builder, name):
        return builder.outer("p_box", "Pa", "pressure of the pallet box", part=name).symbol


def part(name, called=None, after=None, as_=None, **fields):
    """A part of the demo train under another name, leading on from elsewhere, or as another class."""
    kind, known = FIELDS[name]
    return (as_ or kind, called or name, given(kind, {**known, **fields}), after)


def _parts(*names):
    return [part(name) for name in names]


PALLET = ("pallet", "spring", "groove")


def one_pallet() -> Train:
    """A key that pulls its pallet directly."""
    return build_train(_parts("key", "pd", *PALLET, "box"), LIBRARY)


def two_pallets() -> Train:
    """The same with a second pallet, of a groove of its own in the same box."""
    second = [part("pd", "pd-2", after=("key", "out")), *(part(name, f"{name}-2") for name in PALLET)]
    return build_train([*_parts("key", "pd", *PALLET), *second, part("box")], LIBRARY)


def two_branches() -> Train:
    """A key that pulls a second rod, over a square, to a second pallet in a box of its own pressure."""
    names = ("t2", "sq2", "pd", *PALLET)
    second = [part(name, f"{name}-2", after=("key", "out") if name == "t2" else None) for name in names]
    box = part("box", "box-2", pressure="60 mmH2O")
    return build_train([*_parts("key", "pd", *PALLET, "box"), *second, box], LIBRARY)


def on_a_rail() -> Train:
    """The second square sits on a rail that moves."""
    return build_train([part(n, as_=RailSquare if n == "sq2" else None) for _, n, _ in DEMO], LIBRARY)


def in_given_wind() -> Train:
    """The box's pressure changes from outside."""
    return build_train([part(n, as_=GivenBox if n == "box" else None) for _, n, _ in DEMO], LIBRARY)
