"""What a parameter of the equations can be, from its unit and name: no negative mass, no stiffness of nothing."""

from __future__ import annotations

import math

from keyaction.models.fields.values import Derived

_ABOVE = ("kg*m^2", "N/m", "N/m^1.5", "kg/m^3")
_AT_LEAST = ("kg", "m^2", "m^3", "N*m/rad", "N*m*s/rad", "s/m", "Pa")
"""Units of inertias, stiffnesses and densities, and of masses, areas, volumes, dampings and pressures."""
_NAMED_ABOVE = ("V", "A_slot", "p_atm", "p_smooth", "phi_slip", "t_slip", "N_floor", "dip", "Cd")
"""What the equations divide by, or have nothing to move without."""
_NAMED_AT_LEAST = ("c", "tau0", "x0")


def bound_told(one: Derived, value: float) -> str:
    """Why a parameter cannot have a value; empty if it can.

    Parameters
    ----------
    one : Derived
        The parameter as its train has it.
    value : float
        SI.
    """
    if not math.isfinite(value):
        return f"must be a finite number, in {one.unit or '1'}"
    above = one.unit in _ABOVE or one.name in _NAMED_ABOVE
    least = one.unit in _AT_LEAST or one.name.split("_")[0] in _NAMED_AT_LEAST
    unit = f" {one.unit}" if one.unit else ""
    if above and value <= 0:
        return f"must be above 0{unit} ({one.doc})"
    return f"must be 0{unit} or more ({one.doc})" if least and value < 0 else ""
