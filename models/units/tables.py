"""The units that case files may use, and the kinds of quantity that the program knows.

Data only. `units.py` holds the functions. Exact definitions: 1 mmH2O = 9.80665 Pa and 1 gf = 9.80665 mN
(conventional water at 1000 kg/m3 and standard gravity 9.80665 m/s2), 1 in = 25.4 mm, 1 lb = 0.45359237 kg.
"""

from __future__ import annotations

from dataclasses import dataclass

#: Definitions handed to an otherwise empty pint registry; the angle is a base unit of its own here, so that
#: a torque (N*m) and a torsional stiffness (N*m/rad) are told apart.
DEFINITIONS = (
    "m = [length]",
    "kg = [mass]",
    "s = [time]",
    "K = [temperature]; offset: 0",
    "rad = [angle]",
    "degC = K; offset: 273.15",
    "um = 1e-6 * m",
    "mm = 1e-3 * m",
    "cm = 1e-2 * m",
    "km = 1e3 * m",
    "in = 0.0254 * m",
    "ft = 0.3048 * m",
    "g = 1e-3 * kg",
    "mg = 1e-6 * kg",
    "oz = 0.028349523125 * kg",
    "lb = 0.45359237 * kg",
    "us = 1e-6 * s",
    "ms = 1e-3 * s",
    "min = 60 * s",
    "h = 3600 * s",
    "day = 86400 * s",
    "Hz = 1 / s",
    "kHz = 1e3 / s",
    "mrad = 1e-3 * rad",
    "deg = 0.017453292519943295 * rad",
    "N = kg * m / s ** 2",
    "mN = 1e-3 * N",
    "kN = 1e3 * N",
    "gf = 9.80665e-3 * N",
    "kgf = 9.80665 * N",
    "ozf = 0.27801385095378125 * N",
    "lbf = 4.4482216152605 * N",
    "Pa = N / m ** 2",
    "hPa = 1e2 * Pa",
    "kPa = 1e3 * Pa",
    "MPa = 1e6 * Pa",
    "GPa = 1e9 * Pa",
    "mbar = 1e2 * Pa",
    "bar = 1e5 * Pa",
    "mmH2O = 9.80665 * Pa",
    "cmH2O = 98.0665 * Pa",
    "inH2O = 249.08891 * Pa",
    "psi = 6894.757293168361 * Pa",
    "J = N * m",
    "mJ = 1e-3 * J",
    "W = J / s",
    "mW = 1e-3 * W",
    "L = 1e-3 * m ** 3",
    "mL = 1e-6 * m ** 3",
    "percent = 0.01",
)

#: Other ways to write a name from DEFINITIONS.
SPELLINGS = {
    "%": "percent",
    "°C": "degC",
    "C": "degC",
    "°": "deg",
    "µm": "um",
    "μm": "um",
    "µs": "us",
    "μs": "us",
    "inch": "in",
    "l": "L",
    "ml": "mL",
    "litre": "L",
    "mmWC": "mmH2O",
    "mmWS": "mmH2O",
    "cmWC": "cmH2O",
    "cmWS": "cmH2O",
    "inWC": "inH2O",
    "degrees": "deg",
    "degree": "deg",
}


@dataclass(frozen=True)
class Kind:
    """A kind of quantity: its name in words, its SI unit, the trade's unit, an example for messages."""

    words: str
    si: str
    trade: str
    example: str


#: The first kind with a given dimension is the one that a bare unit stands for.
KINDS = (
    Kind("plain number", "1", "1", "0.35"),
    Kind("length", "m", "mm", "12 mm"),
    Kind("mass", "kg", "g", "35 g"),
    Kind("time", "s", "ms", "40 ms"),
    Kind("temperature", "K", "degC", "20 degC"),
    Kind("angle", "rad", "deg", "3 deg"),
    Kind("force", "N", "gf", "120 gf"),
    Kind("pressure", "Pa", "mmH2O", "75 mmH2O"),
    Kind("modulus", "Pa", "GPa", "9.9 GPa"),
    Kind("stress", "Pa", "MPa", "12 MPa"),
    Kind("air pressure", "Pa", "hPa", "1013 hPa"),
    Kind("frequency", "Hz", "Hz", "6 Hz"),
    Kind("area", "m^2", "mm^2", "150 mm^2"),
    Kind("volume", "m^3", "L", "0.8 L"),
    Kind("stiffness", "N/m", "N/mm", "40 N/mm"),
    Kind("compliance", "m/N", "mm/N", "0.2 mm/N"),
    Kind("torque", "N*m", "N*mm", "15 N*mm"),
    Kind("energy", "J", "mJ", "3 mJ"),
    Kind("torsional stiffness", "N*m/rad", "N*m/rad", "40 N*m/rad"),
    Kind("torsional damping", "N*m*s/rad", "N*mm*s/rad", "0.5 N*mm*s/rad"),
    Kind("moment of inertia", "kg*m^2", "g*cm^2", "250 g*cm^2"),
    Kind("density", "kg/m^3", "kg/m^3", "400 kg/m^3"),
    Kind("mass per length", "kg/m", "g/m", "4 g/m"),
    Kind("speed", "m/s", "mm/s", "100 mm/s"),
    Kind("acceleration", "m/s^2", "m/s^2", "9.81 m/s^2"),
    Kind("angular speed", "rad/s", "rad/s", "2 rad/s"),
    Kind("angular acceleration", "rad/s^2", "rad/s^2", "2 rad/s^2"),
    Kind("contact damping", "s/m", "s/m", "0.6 s/m"),
    Kind("contact stiffness", "N/m^1.5", "N/mm^1.5", "20 N/mm^1.5"),
    Kind("damping", "N*s/m", "N*s/m", "0.5 N*s/m"),
    Kind("flow", "m^3/s", "L/s", "2 L/s"),
    Kind("mass flow", "kg/s", "g/s", "2 g/s"),
    Kind("power", "W", "mW", "5 mW"),
    Kind("thermal expansion", "1/K", "1/K", "4e-6 1/K"),
    Kind("second moment of area", "m^4", "mm^4", "830 mm^4"),
    Kind("share", "1", "percent", "50 %"),
)

#: Standard gravity, m/s2 (3rd General Conference on Weights and Measures, 1901), exact.
STANDARD_GRAVITY = 9.80665
