"""Moisture of wood, and what it does to sizes."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from keyaction.models.formulas.wood import (
    ZERO_CELSIUS,
    length_strain,
    moisture_content,
    movement,
    size_change,
)
from keyaction.models.materials.library import default_library
from keyaction.models.units.quantity import parse_quantity
from keyaction.sim.published.observation import Between, Near, Observation, Source

MOISTURE = "Moisture content that wood comes to"
SIZE = "What moisture does to the size of wood"
STIFFNESS = "Stiffness of wood"
HANDBOOK = "Wood Handbook, USDA Forest Products Laboratory"

TABLE = Source(f"S. V. Glass and S. L. Zelinka, {HANDBOOK}, ch. 4, FPL-GTR-282, 2021, Table 4-2", "second-hand")
SIMPSON = Source("W. T. Simpson, USDA Forest Products Laboratory, FPL-RN-0268, 1998, restated in an article", "read")
SWEDISH = Source("A Swedish guide to wood: heated dwellings in winter and in summer", "second-hand")
EUROPEAN = Source("Species sheets of a European timber association and a merchant, 20 °C", "read")
SHRINKAGE = Source(f"{HANDBOOK}, FPL-GTR-190, 2010, Table 13-5, per 1 % of moisture; ours from the shrinkages of "
                   "Table 4-3", "read")  # fmt: skip
ALONG = Source(f"American Wood Council, FAQ, restating {HANDBOOK}, ch. 4: 0.1 to 0.2 % green to oven-dry", "derived")
ACROSS = Source("American Wood Council, FAQ: about 1 % across the grain per 4 % of moisture", "read")
FLOOR = Source(f"A page on floors that quotes {HANDBOOK}, ch. 13: 5 in wide, 6 to 9 %, coefficient 0.00129", "read")
FIR = Source(f"{HANDBOOK}, ch. 13, worked example: white fir, 232 mm, 8 to 11 %, radial", "from memory")
IMPERIAL = Source("A species table with the Wood Handbook's moduli in 10⁶ psi; ours are from its metric table", "read")
DENSITY = Source(f"{HANDBOOK}, ch. 4, through a forestry library: 1000 G (1 + MC/100), G 0.36 at 12 %", "second-hand")

CONTENTS = (
    (21.1, 5, 1.3), (21.1, 30, 6.2), (21.1, 50, 9.2), (21.1, 75, 14.4), (21.1, 85, 17.9), (21.1, 95, 23.9),
    (-1.1, 75, 14.9), (-1.1, 95, 24.3), (37.8, 50, 8.7), (37.8, 90, 19.5),
)  # fmt: skip
"""Temperature in °C, relative humidity in %, moisture content in %."""
COEFFICIENTS = (
    ("American beech, radial", 5.5, 0.00190), ("American beech, tangential", 11.9, 0.00431),
    ("black cherry, radial", 3.7, 0.00126), ("black cherry, tangential", 7.1, 0.00248),
    ("black walnut, radial", 5.5, 0.00190), ("black walnut, tangential", 7.8, 0.00274),
    ("white ash, radial", 4.9, 0.00169), ("white ash, tangential", 7.8, 0.00274),
    ("basswood, radial", 6.6, 0.00230), ("basswood, tangential", 9.3, 0.00330),
)  # fmt: skip
"""Shrinkage green to oven-dry in %, and size change per 1 % of moisture content: both read."""


def percent(celsius: float, humidity: float) -> float:
    """Moisture content in %, from °C and %."""
    return 100 * moisture_content(celsius + ZERO_CELSIUS, humidity / 100)


def _moisture() -> Iterator[Observation]:
    rounding = "last digit printed, and the rounding of the coefficients"
    for celsius, humidity, content in CONTENTS:
        figure = Near(content, absolute=0.06, why=rounding)
        yield Observation(MOISTURE, f"{celsius:g} °C, {humidity} % humidity", figure, "%", TABLE,
                          partial(percent, celsius, humidity))  # fmt: skip
    # Simpson's own account of the equation (abstract, read): on the mean 0.13 %, at most 0.9 % off the older table.
    near, hot = "restated, to whole degrees Fahrenheit", "the equation is up to 0.9 % off the older table"
    for fahrenheit, humidity, content, room, why in ((70, 60, 11.1, 0.2, near), (70, 84, 17.6, 0.2, near),
                                                     (140, 55, 8.0, 0.9, hot)):  # fmt: skip
        figure = Near(content, absolute=room, why=why)
        yield Observation(MOISTURE, f"{fahrenheit} °F, {humidity} % humidity", figure, "%", SIMPSON,
                          partial(percent, (fahrenheit - 32) / 1.8, humidity))  # fmt: skip
    for season, humidity, low, high in (("winter", 10, 2, 6), ("winter", 25, 2, 6),
                                        ("summer", 45, 7, 12), ("summer", 60, 7, 12)):  # fmt: skip
        yield Observation(MOISTURE, f"{season}, {humidity} % humidity, 20 °C", Between(low, high), "%", SWEDISH,
                          partial(percent, 20, humidity))  # fmt: skip
    # Drying and wetting lie up to 4 % apart at 50 % humidity (Wood Handbook, p. 4-4, second-hand): half of it.
    gap = "one equation for all woods; wood that dries is up to 4 % damper than wood that is wetted: half of it"
    for name, humidity, content in (("Norway spruce", 37, 7.0), ("Norway spruce", 83, 16.4), ("beech", 37, 7.3),
                                    ("beech", 83, 15.7), ("oak", 37, 8.9), ("oak", 83, 17.2), ("fir", 37, 7.1),
                                    ("fir", 83, 16.9)):  # fmt: skip
        yield Observation(MOISTURE, f"{name}, {humidity} % humidity", Near(content, absolute=2.0, why=gap), "%",
                          EUROPEAN, partial(percent, 20, humidity))  # fmt: skip


def moves(shrinkage: float) -> float:
    """Size change in % per 1 % of moisture content, from the shrinkage in %."""
    return 100 * movement(shrinkage / 100)


def tracker_growth() -> float:
    """Growth in mm of 2 m of spruce from 35 to 70 % humidity at 18 °C."""
    dry, damp = (18 + ZERO_CELSIUS, 0.35), (18 + ZERO_CELSIUS, 0.70)
    return 1e3 * 2.0 * length_strain(default_library().get("sitka-spruce"), dry, damp)


def usual_movement() -> float:
    """Mean movement across the grain of the library's woods in % per 4 % of moisture content."""
    woods = [default_library().get(name) for name in default_library().names("wood")]
    ways = ("movement_radial", "movement_tangential")
    found = [wood[way].value for wood in woods for way in ways if way in wood]
    return 100 * 4 * sum(found) / len(found)


def _sizes() -> Iterator[Observation]:
    for name, shrinkage, coefficient in COEFFICIENTS:
        yield Observation(SIZE, name, Near(100 * coefficient, absolute=0.001), "%", SHRINKAGE,
                          partial(moves, shrinkage))  # fmt: skip
    inch = parse_quantity("1 in", "m")
    yield Observation(SIZE, "board of a floor", Near(0.019, absolute=0.0005), "in", FLOOR,
                      lambda: size_change(5 * inch, 0.00129, 0.06, 0.09) / inch)  # fmt: skip
    yield Observation(SIZE, "growth of the board", Near(0.78, absolute=0.005), "mm", FIR,
                      lambda: 1e3 * size_change(0.232, movement(0.033), 0.08, 0.11))  # fmt: skip
    yield Observation(SIZE, "2 m of tracker, 35 to 70 %", Between(0.41, 0.83), "mm", ALONG, tracker_growth)
    rule = "'about'; woods differ by as much"
    yield Observation(SIZE, "mean of all woods, both ways", Near(1.0, relative=0.3, why=rule), "%", ACROSS,
                      usual_movement)  # fmt: skip
    yield Observation(SIZE, "density of Sitka spruce, 12 %", Near(403.2, relative=1e-3), "kg/m³", DENSITY,
                      lambda: default_library().get("sitka-spruce")["density"].value)  # fmt: skip


def imperial(name: str) -> float:
    """Modulus in 10⁶ psi."""
    return default_library().get(name)["E"].value / parse_quantity("1e6 psi", "Pa")


def _moduli() -> Iterator[Observation]:
    for name, found in (("american-beech", 1.72), ("black-cherry", 1.49)):
        yield Observation(STIFFNESS, name, Near(found, relative=5e-3), "10⁶ psi", IMPERIAL, partial(imperial, name))


OBSERVATIONS = (*_moisture(), *_sizes(), *_moduli())
