"""What a material is: named properties with unit, source, status and spread."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

# Wire strengths are tabulated for diameters in mm and strengths in MPa.
_MM, _MPA = 1e-3, 1e6
SOLID = ("wood", "composite", "metal")
_OWN = '; where you know it, bring a material of your own: [materials.NAME] with kind = "{}", {}, the rest and a source'
WOOD_AXIAL = 1.10
"""Modulus of wood along the grain over that of a bending test."""


class MissingProperty(KeyError):
    """A property that the material's table does not give."""

    def __str__(self) -> str:
        return str(self.args[0])


@dataclass(frozen=True)
class Property:
    """One figure of a material.

    `value` is in SI units, `unit` is that SI unit, `source` the publication, `status` how far it was seen
    (``read``, ``second-hand``, ``from memory``, ``derived``, ``common practice`` or ``given``), `spread` one
    relative standard deviation, or None where nothing is known, and `others` what other sources say.
    """

    value: float
    unit: str
    source: str
    status: str
    spread: float | None = None
    others: str = ""


@dataclass(frozen=True)
class WireStrength:
    """Tensile strength A / d^m of spring wire between two diameters (d in mm, A in MPa; bounds in metres)."""

    smallest: float
    largest: float
    A: float
    m: float
    source: str
    status: str

    def at(self, diameter: float) -> float:
        """Tensile strength in Pa of wire of `diameter` metres."""
        return float(self.A / (diameter / _MM) ** self.m * _MPA)


@dataclass(frozen=True)
class Material:
    """A material or a friction pair: ``material["E"].value`` is its modulus in Pa."""

    name: str
    kind: str
    description: str
    properties: Mapping[str, Property]
    wire: tuple[WireStrength, ...] = ()

    def __getitem__(self, name: str) -> Property:
        try:
            return self.properties[name]
        except KeyError:
            known = ", ".join(self.properties)
            own = _OWN.format(self.kind, name) if self.kind in SOLID and name in ("E", "G") else ""
            raise MissingProperty(f"material '{self.name}' has no '{name}'; it has: {known}{own}") from None

    def __contains__(self, name: object) -> bool:
        return name in self.properties

    @property
    def axial(self) -> float:
        """Modulus along the bar over ``E``: 1.10 for wood, whose E is that of a bending test with its shear, else 1.

        USDA Forest Products Laboratory, Wood Handbook, FPL-GTR-190, 2010, ch. 5 (from memory).
        """
        return WOOD_AXIAL if self.kind == "wood" else 1.0

    def wire_strength(self, diameter: float) -> float:
        """Tensile strength of spring wire of this material.

        Parameters
        ----------
        diameter : float
            Wire diameter, m.

        Returns
        -------
        float
            Tensile strength, Pa, from S = A / d^m (source beside each row of the table).

        Raises
        ------
        ValueError
            If the material has no such table, or the diameter lies outside it.
        """
        if not self.wire:
            raise ValueError(
                f"material '{self.name}' has no wire strengths; where you know them, bring a material of your own with "
                "wire_strength = [{ from, to, A, m, source }]"
            )
        for row in self.wire:
            if row.smallest <= diameter <= row.largest:
                return row.at(diameter)
        low, high = self.wire[0].smallest / _MM, self.wire[-1].largest / _MM
        raise ValueError(
            f"wire of {diameter / _MM:g} mm: the strengths of '{self.name}' run from {low:g} to {high:g} mm"
        )
