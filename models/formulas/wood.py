"""Wood in the seasons: the water that it holds at rest, and what water and heat do to its length and width.

Equation and coefficients: S. V. Glass and S. L. Zelinka, "Moisture Relations and Physical Properties of Wood", ch. 4
of *Wood Handbook*, USDA Forest Products Laboratory, FPL-GTR-282, 2021, eq. 4-5 (the model of A. J. Hailwood and
S. Horrobin); second-hand, its table 4-2 met within 0.05 % moisture content. Expansion across the grain: the same
chapter, from memory.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal, TypeVar

from keyaction.models.materials.types import Material

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Number = TypeVar("Number", float, NDArray[np.float64])

FIBRE_SATURATION = 0.30
"""Moisture content above which wood no longer changes size: about 30 % (E. C. Peck, FPL Report R1650, 1947)."""
ZERO_CELSIUS = 273.15
COLDEST, HOTTEST = -1.1, 132.2
"""deg C: the range of the Handbook's table 4-2."""
DRIEST, DAMPEST = 0.05, 0.95
"""Relative humidity: the range of that table."""


def movement(shrinkage: float, saturation: float = FIBRE_SATURATION) -> float:
    """Size change across the grain per 1 % of moisture content, over size.

    Parameters
    ----------
    shrinkage : float
        From green to oven-dry, as a share.
    saturation : float
        Moisture content at which it begins: 0.30 for most woods, 0.22 for western redcedar.

    Returns
    -------
    float
        C = 1/(100 F/S - F + 10) with F and S in %: Wood Handbook, ch. 13 (form from memory); it gives Table 13-5 from
        Table 4-3 of FPL-GTR-190 to the last printed digit.
    """
    return 1 / (100 * saturation / shrinkage - 100 * saturation + 10)


def size_change(size: float, coefficient: float, before: float, after: float) -> float:
    """Change of a size across the grain, D C (M2 - M1): Wood Handbook, FPL-GTR-190, 2010, ch. 13.

    Parameters
    ----------
    size : float
        m.
    coefficient : float
        `movement_radial` or `movement_tangential` of the wood: over size, per 1 % of moisture content.
    before, after : float
        Moisture contents, as shares. The coefficients hold from 6 to 14 %.

    Returns
    -------
    float
        m; positive when it swells.
    """
    return size * coefficient * 100 * (after - before)


def moisture_content(temperature: float, humidity: float) -> float:
    """Moisture content that wood comes to in still air.

    Parameters
    ----------
    temperature : float
        K; the equation holds from -1.1 to 132.2 deg C.
    humidity : float
        Relative humidity, 0.05 to 0.95.

    Returns
    -------
    float
        Water over oven-dry wood, by mass. The mean of drying and wetting, which lie 1 to 4 % moisture content apart
        at 50 % humidity; one equation for all woods.

    Raises
    ------
    ValueError
        If temperature or humidity is outside the published range.
    """
    t, h = temperature - ZERO_CELSIUS, humidity
    wrong = []
    if not COLDEST - 1e-9 <= t <= HOTTEST + 1e-9:
        wrong.append(f"temperature {t:g} °C: the published equation holds from {COLDEST:g} to {HOTTEST:g} °C")
    if not DRIEST <= h <= DAMPEST:
        wrong.append(f"humidity {h:.3g}: the published equation holds from {DRIEST:.0%} to {DAMPEST:.0%}")
    if wrong:
        raise ValueError("; ".join(wrong))
    return _equation(t, h)


def moisture_contents(temperature: NDArray[np.float64], humidity: NDArray[np.float64]) -> NDArray[np.float64]:
    """The same for many climates at once, each brought into the published range.

    Parameters
    ----------
    temperature : (N,) array
        K; what is colder than -1.1 or hotter than 132.2 deg C counts as that.
    humidity : (N,) array
        Relative humidity; what is below 0.05 or above 0.95 counts as that.

    Returns
    -------
    (N,) array
        As `moisture_content` gives them; NaN of NaN. `keyaction.models.climate.guidance` tells what was brought in.
    """
    celsius = (temperature - ZERO_CELSIUS).clip(COLDEST, HOTTEST)
    return _equation(celsius, humidity.clip(DRIEST, DAMPEST))


def _equation(t: Number, h: Number) -> Number:
    """Eq. 4-5 of the Handbook: deg C and relative humidity to water over oven-dry wood."""
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    bound = (k1 * k * h + 2 * k1 * k2 * (k * h) ** 2) / (1 + k1 * k * h + k1 * k2 * (k * h) ** 2)
    return 18 / w * (k * h / (1 - k * h) + bound)


Climate = tuple[float, float]
"""Temperature in K, relative humidity."""
Way = Literal["radial", "tangential"]
"""Across the grain: towards the pith, or along the growth rings."""


def length_strain(material: Material, before: Climate, after: Climate) -> float:
    """Change of length along the grain, or along the fibre, over length: what moisture does and what heat does.

    Parameters
    ----------
    material : Material
        Wood swells by its `shrinkage_longitudinal` (green to oven-dry) in proportion to its moisture content below
        fibre saturation; anything else is taken to take up no moisture. Heat adds `thermal_expansion` per kelvin.
    before, after : (temperature in K, relative humidity)

    Returns
    -------
    float
        Positive when it grows longer; NaN where the material does not give a property that is needed.

    Raises
    ------
    ValueError
        If a climate is outside the range of `moisture_content`.
    """
    gained = _gained(before, after) if material.kind == "wood" else 0.0
    swelling = _times(material, "shrinkage_longitudinal", gained / FIBRE_SATURATION)
    return swelling + _times(material, "thermal_expansion", after[0] - before[0])


def width_strain(material: Material, way: Way, before: Climate, after: Climate) -> float:
    """Change of a size of wood across the grain, over that size.

    Parameters
    ----------
    material : Material
        A wood: its `movement_radial` or `movement_tangential` per 1 % of moisture content (Wood Handbook ch. 13:
        6 to 14 %), and its expansion by heat as `across_expansion` has it.
    way : {"radial", "tangential"}
    before, after : (temperature in K, relative humidity)

    Returns
    -------
    float
        Positive when it grows wider; NaN where the material does not give a property that is needed.

    Raises
    ------
    ValueError
        If a climate is outside the range of `moisture_content`.
    """
    swelling = _times(material, f"movement_{way}", 100 * _gained(before, after))
    heat = after[0] - before[0]
    return swelling + (across_expansion(material, way) * heat if heat else 0.0)


def across_expansion(material: Material, way: Way) -> float:
    """Thermal expansion of oven-dry wood across the grain, 1/K: (32.4 G + 9.9) or (32.4 G + 18.4) e-6.

    Radial and tangential: Wood Handbook, FPL-GTR-282, 2021, ch. 4 (from memory), for an oven-dry specific gravity G of
    0.1 to 0.8; NaN outside, and where the material does not give density and movement. A second-hand table has 27 and
    45 e-6/K for Douglas-fir.
    """
    gravity = oven_dry_gravity(material)
    if not LIGHTEST <= gravity <= HEAVIEST:
        return math.nan
    return (32.4 * gravity + (9.9 if way == "radial" else 18.4)) * 1e-6


LIGHTEST, HEAVIEST = 0.1, 0.8
"""Oven-dry specific gravity: the range of the Handbook's formulae for expansion across the grain."""
_TABLE_MOISTURE = 0.12
_WATER = 1000.0


def oven_dry_gravity(material: Material) -> float:
    """Oven-dry mass over oven-dry volume and water's density, from a wood's density at 12 % and its movement.

    Drying from 12 % to nothing takes away the water, and 12 times the movement of both ways across (along the grain
    next to nothing). NaN where the material does not give them.
    """
    dry = _value(material, "density") / (1 + _TABLE_MOISTURE) / _WATER
    moves = _value(material, "movement_radial") + _value(material, "movement_tangential")
    return dry / (1 - 100 * _TABLE_MOISTURE * moves)


def _gained(before: Climate, after: Climate) -> float:
    """Moisture content taken up below fibre saturation."""
    wet = [min(moisture_content(*climate), FIBRE_SATURATION) for climate in (before, after)]
    return wet[1] - wet[0]


def _times(material: Material, name: str, cause: float) -> float:
    """What a property makes of a cause; without a cause there is nothing to know."""
    return _value(material, name) * cause if cause else 0.0


def _value(material: Material, name: str) -> float:
    return material[name].value if name in material else math.nan
