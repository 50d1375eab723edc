"""Wood and the air's moisture: how much water wood holds at rest, and what that does to its length.

Equation and coefficients: S. V. Glass and S. L. Zelinka, "Moisture Relations and Physical Properties of Wood", ch. 4
of *Wood Handbook*, USDA Forest Products Laboratory, FPL-GTR-282, 2021, eq. 4-5 (the model of A. J. Hailwood and
S. Horrobin); second-hand, its table 4-2 met within 0.05 % moisture content.
"""

from __future__ import annotations

from keyaction.models.materials.types import Material

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
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    bound = (k1 * k * h + 2 * k1 * k2 * (k * h) ** 2) / (1 + k1 * k * h + k1 * k2 * (k * h) ** 2)
    return 18 / w * (k * h / (1 - k * h) + bound)


def length_strain(material: Material, before: tuple[float, float], after: tuple[float, float]) -> float:
    """Change of length along the grain, or along the fibre, over length.

    Parameters
    ----------
    material : Material
        Wood swells by its `shrinkage_longitudinal` (green to oven-dry, 0.1 to 0.2 %) in proportion to its moisture
        content below fibre saturation; its expansion by heat is left out, since moisture outweighs it. Anything else
        takes up no moisture here and grows by its `thermal_expansion`, or not at all where the table has none.
    before, after : (temperature in K, relative humidity)

    Returns
    -------
    float
        Positive when it grows longer.

    Raises
    ------
    ValueError
        If a climate is outside the range of `moisture_content`.
    """
    wet = [min(moisture_content(*climate), FIBRE_SATURATION) for climate in (before, after)]
    if material.kind == "wood":
        return material["shrinkage_longitudinal"].value * (wet[1] - wet[0]) / FIBRE_SATURATION
    if "thermal_expansion" in material:
        return material["thermal_expansion"].value * (after[0] - before[0])
    return 0.0
