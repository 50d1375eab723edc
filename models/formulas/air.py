"""Air: density of moist air and flow through an opening.

Density: A. Picard, R. S. Davis, M. Gläser, K. Fujii, "Revised formula for the density of moist air
(CIPM-2007)", Metrologia 45 (2008) 149-155; the constants were read second-hand, in two implementations.
"""

from __future__ import annotations

import math

from keyaction.models.many import maths

#: Temperature (K), pressure (Pa) and relative humidity within which `density` answers. The paper covers 15 to
#: 27 degC (from memory); from 10 to 30 degC two other formulations agree within 5e-4 (tests/published).
TEMPERATURES = (273.15, 313.15)
PRESSURES = (60_000.0, 110_000.0)
HUMIDITIES = (0.0, 1.0)

_SATURATION = (1.2378847e-5, -1.9121316e-2, 33.93711047, -6.3431645e3)
_ENHANCEMENT = (1.00062, 3.14e-8, 5.6e-7)
_A = (1.58123e-6, -2.9331e-8, 1.1043e-10)
_B = (5.707e-6, -2.051e-8)
_C = (1.9898e-4, -2.376e-6)
_D, _E = 1.83e-11, -0.765e-8
_LEAD = 3.483740e-3
_MOLAR_RATIO = 18.015 / 28.96546
ZERO_CELSIUS = 273.15


def _check(temperature: float, pressure: float, humidity: float) -> None:
    rows = (
        ("temperature", temperature, TEMPERATURES, "K"),
        ("pressure", pressure, PRESSURES, "Pa"),
        ("relative humidity", humidity, HUMIDITIES, "(1 = saturated)"),
    )
    wrong = [
        f"{name} {value:g} {unit} is out of range; {low:g} to {high:g} is allowed"
        for name, value, (low, high), unit in rows
        if not low <= value <= high
    ]
    if wrong:
        raise ValueError("; ".join(wrong))


def vapour_fraction(temperature: float, pressure: float, humidity: float) -> float:
    """Mole fraction of water vapour, from K, Pa and relative humidity 0 to 1 (CIPM-2007, appendix)."""
    a, b, c, d = _SATURATION
    t = temperature - ZERO_CELSIUS
    saturation = maths.exp(a * temperature**2 + b * temperature + c + d / temperature)
    alpha, beta, gamma = _ENHANCEMENT
    return humidity * (alpha + beta * pressure + gamma * t**2) * saturation / pressure


def density(temperature: float, pressure: float, humidity: float) -> float:
    """Density of moist air after CIPM-2007, with 400 ppm of carbon dioxide.

    Parameters
    ----------
    temperature : float
        K, 273.15 to 313.15.
    pressure : float
        Absolute pressure, Pa, 60 000 to 110 000.
    humidity : float
        Relative humidity, 0 to 1.

    Returns
    -------
    float
        kg/m3.

    Raises
    ------
    ValueError
        If a value lies outside its range; every such value is named.
    """
    _check(temperature, pressure, humidity)
    t = temperature - ZERO_CELSIUS
    x = vapour_fraction(temperature, pressure, humidity)
    ratio = pressure / temperature
    first = _A[0] + _A[1] * t + _A[2] * t**2 + (_B[0] + _B[1] * t) * x + (_C[0] + _C[1] * t) * x**2
    compressibility = 1 - ratio * first + ratio**2 * (_D + _E * x**2)
    return _LEAD * pressure / (compressibility * temperature) * (1 - x * (1 - _MOLAR_RATIO))


def jet_speed(pressure: float, air_density: float) -> float:
    """Ideal speed sqrt(2 p / rho) of a jet (m/s), signed as `pressure` (Pa); density in kg/m3."""
    return math.copysign(math.sqrt(2 * abs(pressure) / air_density), pressure)


def orifice_flow(coefficient: float, area: float, pressure: float, air_density: float) -> float:
    """Volume flow through an opening, C_d A sqrt(2 dp / rho).

    Parameters
    ----------
    coefficient : float
        Discharge coefficient C_d.
    area : float
        m2.
    pressure : float
        Pressure difference dp, Pa; the flow takes its sign.
    air_density : float
        kg/m3.

    Returns
    -------
    float
        m3/s.
    """
    return coefficient * area * jet_speed(pressure, air_density)
