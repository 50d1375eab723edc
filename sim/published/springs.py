"""Springs and their wire against worked examples, standards and closed forms."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

from keyaction.models.formulas import sections, springs
from keyaction.models.materials.library import default_library
from keyaction.models.materials.types import WireStrength
from keyaction.models.units.quantity import parse_quantity
from keyaction.sim.published.observation import AtLeast, Near, Observation, Source

SPRINGS, WIRE = "Pallet springs", "Strength of spring wire"

BHANDARI = Source("V. B. Bhandari, Design of Machine Elements, Ex. 10.21: coil 18 mm, wire 1.6 mm, E 207 000 N/mm², "
                  "3 N·mm/rad, 250 N·mm, from a published solution file", "second-hand")  # fmt: skip
WORKED = Source("The same example, worked out to more digits", "derived")
STANDARD = Source("EN 13906-3: rate per degree E d⁴/(3667 D n)", "from memory")
CANTILEVER = Source("Cantilever F L³/(3 E I) and bar G J/L, textbook: torsion bar d 2 mm, 300 mm, G 79.3 GPa; leaf "
                    "6 x 0.5 x 60 mm, E 103 GPa; wire d 1 mm, 50 mm, E 207 GPa", "derived")  # fmt: skip
A228 = Source("ASTM A228, least tensile strength, from a wire maker's table; ours is the fit of Shigley's Mechanical "
              "Engineering Design, Table 10-4, up to 4 % above it", "read")  # fmt: skip
EXAM = Source("A worked examination problem: A 2060, m 0.163, d 7.25 mm", "read")
B159 = Source("R. G. Budynas and J. K. Nisbett, Shigley's Mechanical Engineering Design, Table 10-4, B159", "derived")

MINIMA = ((0.010, 387), (0.020, 350), (0.030, 330), (0.040, 315), (0.051, 303), (0.063, 293), (0.080, 282),
          (0.100, 271), (0.125, 261))  # fmt: skip
"""Diameter in inches, ksi."""


def coils() -> float:
    """Coils that give the example's rate."""
    return springs.coil_rate(207e9, 1.6e-3, 18e-3, 1.0) / 3e-3


def per_degree() -> float:
    """The standard's number: E d⁴ over D n and the rate per degree."""
    return 1 / (math.radians(1.0) * springs.coil_rate(1.0, 1.0, 1.0, 1.0))


def strength(inches: float) -> float:
    """Of music wire, ksi."""
    diameter = parse_quantity(f"{inches} in", "m")
    return default_library().get("music-wire").wire_strength(diameter) / parse_quantity("1e3 psi", "Pa")


def bronze(millimetres: float) -> float:
    """Strength of phosphor bronze wire, MPa."""
    return default_library().get("phosphor-bronze").wire_strength(millimetres / 1e3) / 1e6


def legs() -> float:
    """N/m of one leg of wire that bends, the coils being too small to give way: two of them in series, twice."""
    return 2 * springs.v_spring_rate(207e9, 1e-3, 1e-9, 1.0, 0.050)


def _rows() -> Iterator[Observation]:
    yield Observation(SPRINGS, "number of coils", Near(393, absolute=0.5), "", BHANDARI, coils)
    yield Observation(SPRINGS, "number of coils", Near(392.53, relative=1e-4), "", WORKED, coils)
    yield Observation(SPRINGS, "factor of the inner side", Near(1.0710, absolute=5e-5), "", WORKED,
                      partial(springs.curvature_factor, 11.25))  # fmt: skip
    yield Observation(SPRINGS, "stress", Near(665.84, absolute=0.05), "MPa", WORKED,
                      lambda: springs.bending_stress(0.250, 1.6e-3, 18e-3) / 1e6)  # fmt: skip
    yield Observation(SPRINGS, "factor of the rate per degree", Near(3667, absolute=0.5), "", STANDARD, per_degree)
    bar, leaf = sections.round_bar(2e-3), sections.rectangle(6e-3, 0.5e-3)
    yield Observation(SPRINGS, "torsion bar", Near(0.41521, relative=1e-4), "N·m/rad", CANTILEVER,
                      partial(sections.torsional_stiffness, 79.3e9, bar.torsion, 0.300))  # fmt: skip
    yield Observation(SPRINGS, "leaf", Near(89.41, relative=1e-4), "N/m", CANTILEVER,
                      lambda: 3 * 103e9 * leaf.weak_axis / 0.060**3)  # fmt: skip
    yield Observation(SPRINGS, "straight wire", Near(243.9, relative=2e-4), "N/m", CANTILEVER, legs)
    for inches, ksi in MINIMA:
        above = AtLeast(ksi, 0.04, why="a fit of wires as they are bought, at most 4 % above the least")
        yield Observation(WIRE, f"music wire of {inches:.3f} in", above, "ksi", A228, partial(strength, inches))
    law = WireStrength(1e-4, 1e-2, 2060.0, 0.163, EXAM.cite, EXAM.trust)
    yield Observation(WIRE, "wire of 7.25 mm", Near(1492, absolute=0.5), "MPa", EXAM, lambda: law.at(7.25e-3) / 1e6)
    for millimetres, found in ((0.5, 1000), (1.219, 908)):
        yield Observation(WIRE, f"phosphor bronze of {millimetres:g} mm", Near(found, relative=5e-4), "MPa", B159,
                          partial(bronze, millimetres))  # fmt: skip


OBSERVATIONS = tuple(_rows())
