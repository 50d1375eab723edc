"""The kinds of quantity that the program knows."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Kind:
    """A kind of quantity: its name in words, its SI unit, the trade's unit, an example for messages.

    `prefixed` is what the trade's unit is of SI with prefixes, where it is no such itself.
    """

    words: str
    si: str
    trade: str
    example: str
    prefixed: str = ""


KINDS = (
    Kind("plain number", "1", "1", "0.35"),
    Kind("length", "m", "mm", "12 mm"),
    Kind("mass", "kg", "g", "35 g"),
    Kind("time", "s", "ms", "40 ms"),
    Kind("temperature", "K", "degC", "20 degC"),
    Kind("angle", "rad", "deg", "3 deg", "mrad"),
    Kind("force", "N", "gf", "120 gf", "N"),
    Kind("pressure", "Pa", "mmH2O", "75 mmH2O", "Pa"),
    Kind("modulus", "Pa", "GPa", "9.9 GPa"),
    Kind("stress", "Pa", "MPa", "12 MPa"),
    Kind("air pressure", "Pa", "hPa", "1013 hPa"),
    Kind("frequency", "Hz", "Hz", "6 Hz"),
    Kind("area", "m^2", "mm^2", "150 mm^2"),
    Kind("volume", "m^3", "L", "0.8 L", "cm^3"),
    Kind("stiffness", "N/m", "N/mm", "40 N/mm"),
    Kind("compliance", "m/N", "mm/N", "0.2 mm/N"),
    Kind("torque", "N*m", "N*mm", "15 N*mm"),
    Kind("energy", "J", "mJ", "3 mJ"),
    Kind("torsional stiffness", "N*m/rad", "N*m/rad", "40 N*m/rad"),
    Kind("torsional damping", "N*m*s/rad", "N*mm*s/rad", "0.5 N*mm*s/rad"),
    Kind("moment of inertia", "kg*m^2", "g*cm^2", "250 g*cm^2", "kg*mm^2"),
    Kind("density", "kg/m^3", "kg/m^3", "400 kg/m^3"),
    Kind("mass per length", "kg/m", "g/m", "4 g/m"),
    Kind("speed", "m/s", "mm/s", "100 mm/s"),
    Kind("acceleration", "m/s^2", "m/s^2", "9.81 m/s^2"),
    Kind("angular speed", "rad/s", "rad/s", "2 rad/s"),
    Kind("angular acceleration", "rad/s^2", "rad/s^2", "2 rad/s^2"),
    Kind("contact damping", "s/m", "s/m", "0.6 s/m"),
    Kind("contact stiffness", "N/m^1.5", "N/mm^1.5", "20 N/mm^1.5"),
    Kind("damping", "N*s/m", "N*s/m", "0.5 N*s/m"),
    Kind("flow", "m^3/s", "L/s", "2 L/s", "cm^3/s"),
    Kind("fall of pressure per flow", "Pa*s/m^3", "mmH2O*s/L", "0.5 mmH2O*s/L", "Pa*s/m^3"),
    Kind("mass flow", "kg/s", "g/s", "2 g/s"),
    Kind("power", "W", "mW", "5 mW"),
    Kind("thermal expansion", "1/K", "1/K", "4e-6 1/K"),
    Kind("second moment of area", "m^4", "mm^4", "830 mm^4"),
    Kind("share", "1", "percent", "50 %"),
    Kind("lag", "s", "day", "20 day"),
)
"""The first kind with a given dimension is the one that a bare unit stands for."""
