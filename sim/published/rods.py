"""Rods and rollers: torsion, stretch, waves, buckling, sideways motion and sag."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

from keyaction.models.formulas import sections
from keyaction.models.materials.library import default_library
from keyaction.models.units.names import STANDARD_GRAVITY
from keyaction.sim.published.observation import Near, Observation, Source

TORSION, STRETCH, SIDEWAYS = "Torsion of rollers", "Stretch and waves in rods", "Rods between guides"

MANUAL = Source("Theory manual of a finite-element program: rectangular sections, J = k a b³", "read")
ROARK = Source("An engineering page after Roark and Young: a b³ [1/3 - 0.21 (b/a)(1 - b⁴/12 a⁴)]", "read")
SERIES = Source("Saint-Venant's series, summed term by term: S. P. Timoshenko and J. N. Goodier, Theory of Elasticity, "
                "3rd ed., 1970, ch. 10", "derived")  # fmt: skip
ROLLER = Source("Wood Handbook, FPL-GTR-190, 2010, Tables 5-1 and 5-3a: Sitka spruce 25 mm square, 1 m, G 0.697 GPa",
                "derived")  # fmt: skip
WAVES = Source("sqrt(E/rho) at 12 % from Wood Handbook, FPL-GTR-190, 2010, Table 5-3a; carbon from a vendor's sheet",
               "derived")  # fmt: skip
HOOKE = Source("F L/(E A), textbook: 3 m at 3 N; spruce 10 x 1 mm, carbon d 1.5 mm of 181 GPa", "derived")
EULER = Source("Euler, pi² E I/L²: spruce 10 x 1 mm, 1 m, pivoted", "derived")
BEAM = Source("Pivoted beam under tension, f0 sqrt(1 + T/P), textbook: 1 m", "derived")
STRING = Source("Limp string: f² = g/(32 s), s its sag rho A g L²/8T, textbook: spruce 10 x 1 mm, 1 N, 1 m", "derived")
SAG = Source("rho A g L²/8T, textbook: spruce 10 x 1 mm, 1 m", "derived")

COEFFICIENTS = ((1.0, 0.141), (1.1, 0.154), (1.2, 0.166), (1.5, 0.196), (2.0, 0.229), (2.5, 0.249), (3.0, 0.263),
                (4.0, 0.281), (5.0, 0.291), (10.0, 0.312))  # fmt: skip
SUMMED = ((1.0, 0.14057702), (1.5, 0.19576071), (2.0, 0.22868168), (10.0, 0.31232504))
SPEEDS = (("sitka-spruce", 4955), ("western-redcedar", 4635), ("sugar-pine", 4510), ("sugar-maple", 4226),
          ("american-beech", 4075), ("white-oak", 4019), ("carbon-rod", 9452), ("carbon-ud-70", 10636))  # fmt: skip
BENDING = (("spruce 10 x 1 mm", 0, 2.2469), ("spruce 10 x 1 mm", 1, 8.1886), ("spruce 10 x 1 mm", 3, 13.8225),
           ("carbon d 1.5 mm", 0, 5.5675), ("carbon d 1.5 mm", 1, 11.194), ("carbon d 1.5 mm", 3, 17.718),
           ("carbon d 1.5 mm, P/2", None, 3.9368))  # fmt: skip
"""Rod, pull in N (none: a push of half of the buckling load), Hz."""


def coefficient(ratio: float) -> float:
    """J/(a b³) of a rectangle with these sides."""
    return sections.rectangle(ratio, 1.0).torsion / ratio


def _torsions() -> Iterator[Observation]:
    for ratio, found in COEFFICIENTS:
        yield Observation(TORSION, f"sides {ratio:g} : 1", Near(found, absolute=5.1e-4), "", MANUAL,
                          partial(coefficient, ratio))  # fmt: skip
    yield Observation(TORSION, "very flat", Near(0.333, absolute=5.1e-4), "", MANUAL, partial(coefficient, 1e4))
    for ratio in (1.0, 2.0, 5.0):
        rough = 1 / 3 - 0.21 / ratio * (1 - 1 / (12 * ratio**4))
        yield Observation(TORSION, f"sides {ratio:g} : 1", Near(rough, relative=5e-3, why="an approximate formula"), "",
                          ROARK, partial(coefficient, ratio))  # fmt: skip
    for ratio, found in SUMMED:
        yield Observation(TORSION, f"sides {ratio:g} : 1", Near(found, absolute=1e-8), "", SERIES,
                          partial(coefficient, ratio))  # fmt: skip
    shear = default_library().get("sitka-spruce")["G"].value
    stiffness = partial(sections.torsional_stiffness, shear, sections.square(0.025).torsion, 1.0)
    yield Observation(TORSION, "stiffness", Near(38.27, relative=1e-3), "N·m/rad", ROLLER, stiffness)
    yield Observation(TORSION, "way of an arm of 50 mm at 2 N", Near(0.131, absolute=5e-4), "mm", ROLLER,
                      lambda: 1e3 * 2.0 * 0.050**2 / stiffness())  # fmt: skip


def wave(name: str) -> float:
    """Speed of a pull in m/s."""
    material = default_library().get(name)
    return sections.wave_speed(material["E"].value, material["density"].value)


def stretch(name: str, area: float) -> float:
    """mm of 3 m under 3 N."""
    return 1e3 * 3.0 / sections.axial_stiffness(default_library().get(name)["E"].value, area, 3.0)


def _stretches() -> Iterator[Observation]:
    for name, speed in SPEEDS:
        yield Observation(STRETCH, f"wave in {name}", Near(speed, absolute=1.0), "m/s", WAVES, partial(wave, name))
    rods = (("sitka-spruce", sections.rectangle(0.010, 0.001), 0.0909),
            ("carbon-ud-70", sections.round_bar(0.0015), 0.0281))  # fmt: skip
    for name, bar, found in rods:
        yield Observation(STRETCH, f"stretch of {name}", Near(found, absolute=5e-5), "mm", HOOKE,
                          partial(stretch, name, bar.area))  # fmt: skip


def rod(words: str) -> tuple[float, float]:
    """Mass per length and bending stiffness of the spruce strip or the carbon rod."""
    name, bar = ("carbon-rod", sections.round_bar(0.0015)) if "carbon" in words else (
        "sitka-spruce", sections.rectangle(0.010, 0.001))  # fmt: skip
    material = default_library().get(name)
    return material["density"].value * bar.area, material["E"].value * bar.weak_axis


def frequency(words: str, pull: float | None) -> float:
    """Hz of 1 m between pivots."""
    line, bending = rod(words)
    tension = -0.5 * sections.euler_load(1.0, bending, 1.0) if pull is None else pull
    return sections.span_frequency(tension, line, 1.0, bending)


def pivoted_root() -> float:
    """L (rho A w²/E I)^(1/4) of the lowest motion of a beam on pivots."""
    line, bending = rod("spruce")
    return math.sqrt(2 * math.pi * frequency("spruce", 0) * math.sqrt(line / bending))


def sagging(pull: float) -> float:
    """mm in the middle of 1 m of limp spruce."""
    return 1e3 * sections.sag(pull, rod("spruce")[0], 1.0)


def _sideways() -> Iterator[Observation]:
    yield Observation(SIDEWAYS, "push at which it buckles", Near(0.081424, relative=1e-4), "N", EULER,
                      lambda: sections.euler_load(1.0, rod("spruce")[1], 1.0))  # fmt: skip
    yield Observation(SIDEWAYS, "root of the beam, no pull", Near(math.pi, relative=1e-12), "", BEAM,
                      pivoted_root)  # fmt: skip
    for words, pull, found in BENDING:
        under = f", {pull} N" if pull is not None else " pushing"
        yield Observation(SIDEWAYS, f"{words}{under}", Near(found, relative=1e-4), "Hz", BEAM,
                          partial(frequency, words, pull))  # fmt: skip
    yield Observation(SIDEWAYS, "limp, from its own sag", Near(7.874, relative=1e-3), "Hz", STRING,
                      lambda: math.sqrt(STANDARD_GRAVITY / (32e-3 * sagging(1.0))))  # fmt: skip
    for tight, found in ((1.0, 4.94), (3.0, 1.65)):
        yield Observation(SIDEWAYS, f"sag at {tight:g} N", Near(found, absolute=0.005), "mm", SAG,
                          partial(sagging, tight))  # fmt: skip


OBSERVATIONS = (*_torsions(), *_stretches(), *_sideways())
