"""Rods and rollers: torsion, stretch, waves, buckling, sideways motion and sag."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import partial

from keyaction.models.fields.values import Given, Scalar, Values
from keyaction.models.formulas import sections
from keyaction.models.materials.library import default_library
from keyaction.models.parts.rods import Tracker
from keyaction.models.units.names import STANDARD_GRAVITY
from keyaction.sim.published.observation import Near, Observation, Source

TORSION, STRETCH, SIDEWAYS = "Torsion of rollers", "Stretch and waves in rods", "Rods between guides"

MANUAL = Source("Theory manual of a finite-element program: rectangular sections, J = k a b³", "read")
ROARK = Source("An engineering page after Roark and Young: a b³ [1/3 - 0.21 (b/a)(1 - b⁴/12 a⁴)]", "read")
SERIES = Source("Saint-Venant's series, summed term by term: S. P. Timoshenko and J. N. Goodier, Theory of Elasticity, "
                "3rd ed., 1970, ch. 10", "derived")  # fmt: skip
ROLLER = Source("Wood Handbook, FPL-GTR-190, 2010, Tables 5-1 and 5-3a: Sitka spruce 25 mm square, 1 m, G 0.697 GPa",
                "derived")  # fmt: skip
WAVES = Source("sqrt(1.10 E/rho) at 12 % from Wood Handbook, FPL-GTR-190, 2010, Table 5-3a: E is of a bending test "
               "with its shear, along the grain it is 10 % more (ch. 5, from memory); carbon sqrt(E/rho), from a "
               "vendor's sheet", "derived")  # fmt: skip
HOOKE = Source("F L/(E A), textbook: 3 m at 3 N; spruce 10 x 1 mm of 1.10 x 9.9 GPa (as above), carbon d 1.5 mm of "
               "181 GPa", "derived")  # fmt: skip
EULER = Source("Euler, pi² E I/L²: spruce 10 x 1 mm of 1.10 x 9.9 GPa, slender, 1 m, pivoted", "derived")
BEAM = Source("Pivoted beam under tension, f0 sqrt(1 + T/P), textbook: 1 m; spruce of 1.10 x 9.9 GPa, carbon of "
              "127 GPa in bending", "derived")  # fmt: skip
STRING = Source("Limp string: f² = g/(32 s), s its sag rho A g L²/8T, textbook: spruce 10 x 1 mm, 1 N, 1 m", "derived")
SAG = Source("rho A g L²/8T, textbook: spruce 10 x 1 mm, 1 m", "derived")

COEFFICIENTS = ((1.0, 0.141), (1.1, 0.154), (1.2, 0.166), (1.5, 0.196), (2.0, 0.229), (2.5, 0.249), (3.0, 0.263),
                (4.0, 0.281), (5.0, 0.291), (10.0, 0.312))  # fmt: skip
SUMMED = ((1.0, 0.14057702), (1.5, 0.19576071), (2.0, 0.22868168), (10.0, 0.31232504))
SPEEDS = (("sitka-spruce", 5197), ("western-redcedar", 4861), ("sugar-pine", 4730), ("sugar-maple", 4432),
          ("american-beech", 4273), ("white-oak", 4215), ("carbon-rod", 9452), ("carbon-ud-70", 10636))  # fmt: skip
BENDING = (("spruce 10 x 1 mm", 0, 2.3566), ("spruce 10 x 1 mm", 1, 8.2193), ("spruce 10 x 1 mm", 3, 13.8407),
           ("carbon d 1.5 mm", 0, 5.4201), ("carbon d 1.5 mm", 1, 11.122), ("carbon d 1.5 mm", 3, 17.673),
           ("carbon d 1.5 mm, P/2", None, 3.8326))  # fmt: skip
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


STRIP: Mapping[str, Scalar] = {"section": "rectangle", "width": 0.010, "thickness": 0.001}
ROUND: Mapping[str, Scalar] = {"section": "round", "diameter": 0.0015}


def tracker(material: str, bar: Mapping[str, Scalar], length: float = 1.0) -> dict[str, float]:
    """Figures (SI) that the program has of a tracker of a case."""
    fields: dict[str, Scalar] = {one.name: one.default for one in Tracker.fields if one.default is not None}
    fields |= {"material": material, "length": length, **bar}
    values = Values("tracker", {name: Given(value, "published") for name, value in fields.items()}, default_library())
    Tracker.resolve(values)
    return {name: item.value for name, item in values.derived.items()}


def wave(name: str) -> float:
    """Speed of a pull in m/s."""
    return 1 / tracker(name, STRIP)["wave_time"]


def stretch(name: str, bar: Mapping[str, Scalar]) -> float:
    """mm of 3 m under 3 N."""
    return 1e3 * 3.0 * 3.0 / tracker(name, bar, 3.0)["EA"]


def _stretches() -> Iterator[Observation]:
    for name, speed in SPEEDS:
        yield Observation(STRETCH, f"wave in {name}", Near(speed, absolute=1.0), "m/s", WAVES, partial(wave, name))
    for name, bar, found in (("sitka-spruce", STRIP, 0.0826), ("carbon-ud-70", ROUND, 0.0281)):
        yield Observation(STRETCH, f"stretch of {name}", Near(found, absolute=5e-5), "mm", HOOKE,
                          partial(stretch, name, bar))  # fmt: skip


def rod(words: str) -> tuple[float, float]:
    """Mass per length and bending stiffness of the spruce strip or the carbon rod."""
    name, bar = ("carbon-rod", ROUND) if "carbon" in words else ("sitka-spruce", STRIP)
    area = sections.section(str(bar["section"]), *(float(size) for side, size in bar.items() if side != "section")).area
    return default_library().get(name)["density"].value * area, tracker(name, bar)["EI"]


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
    yield Observation(SIDEWAYS, "push at which it buckles", Near(0.089567, relative=1e-4), "N", EULER,
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
