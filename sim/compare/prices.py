"""What a rod costs: a price a metre of its material, or of its material in one size, in whatever money."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from keyaction.cases.action.case import Case
from keyaction.models.fields.values import Values
from keyaction.models.parts.common import SECTION_NEEDS
from keyaction.models.units.quantity import parse_quantity
from keyaction.sim.compare.rod_choice import ROD, guided, read_sized, section_of

_HIGHEST = 1e6
_NEAR = 1e-6
"""m by which a size may be off the one that is priced."""


@dataclass(frozen=True)
class Price:
    """Price a metre of a material; with `section` and `sizes` (m) of that size only."""

    text: str
    material: str
    amount: float
    section: str = ""
    sizes: tuple[float, ...] = ()

    def holds(self, values: Values) -> bool:
        """Whether a rod is of it."""
        if not values.has("material") or values.material("material").name != self.material:
            return False
        if not self.sizes:
            return True
        if not values.has("section") or values.text("section") != self.section:
            return False
        needs = SECTION_NEEDS[self.section]
        if not values.has(*needs):
            return False
        own = [values.number(name) for name in needs]
        return all(abs(a - b) < _NEAR for a, b in zip(own, self.sizes, strict=True))


def price_of(prices: Sequence[Price], values: Values) -> float:
    """Price of a rod: its length times the price a metre, of its own size before that of its material; NaN unknown."""
    fitting = sorted((one for one in prices if one.holds(values)), key=lambda one: not one.sizes)
    return fitting[0].amount * values.number("length") if fitting and values.has("length") else math.nan


def read_prices(case: Case, text: str, defects: list[str]) -> list[Price]:
    """Prices named on the command line, ``"sitka-spruce=1.20, carbon-rod@2mm=4.50"``.

    Parameters
    ----------
    case : Case
        Whose materials they are.
    text : str
    defects : list of str
        Takes what is wrong.
    """
    found: list[Price] = []
    for piece in (piece.strip() for piece in text.split(",")):
        name, equals, amount = (side.strip() for side in piece.partition("="))
        if not (name and equals and amount):
            defects.append(f"--price {piece}: write MATERIAL=PRICE A METRE, e.g. --price carbon-rod@2mm=4.50")
            continue
        number = _number(amount)
        if not 0 <= number <= _HIGHEST:
            defects.append(f"--price {piece}: '{amount}' is no price; a number from 0 to {_HIGHEST:g} is needed")
        sized = read_sized(ROD, case, name, "--price", defects)
        if sized is None or not 0 <= number <= _HIGHEST:
            continue
        section, _ = section_of(sized) if sized.sizes else ("", ())
        sizes = tuple(parse_quantity(size, "m") for size in sized.sizes)
        one = Price(name, sized.material.name, number, section, sizes)
        if any((other.material, other.sizes) == (one.material, one.sizes) for other in found):
            defects.append(f"--price {piece}: '{sized.label}' is priced twice")
        found.append(one)
    return found


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan


def unused(prices: Sequence[Price], cases: Iterable[Case]) -> list[str]:
    """A line for each price that no rod of any of the cases has."""
    rods = [
        Values(part.name, case.values(note, part), case.library)
        for case in cases
        for part in guided(case)
        for note in case.compass
    ]
    return [f"--price {one.text}: no rod is of it" for one in prices if not any(one.holds(rod) for rod in rods)]
