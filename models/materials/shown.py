"""Properties of materials as people read them."""

from __future__ import annotations

from keyaction.models.materials.types import Property
from keyaction.models.units.quantity import format_value

MODULI = ("E", "E_flexural", "G")
PER_MILLION = 1e-6


def shown_property(name: str, found: Property) -> str:
    """A property with its unit: moduli in GPa, stresses in MPa, expansions per million and kelvin.

    Parameters
    ----------
    name : str
    found : Property

    Returns
    -------
    str
    """
    if found.unit == "1/K":
        return f"{found.value / PER_MILLION:.4g}e-6/K"
    if name in MODULI:
        return format_value(found.value, found.unit, kind="modulus")
    if found.unit == "Pa":
        return format_value(found.value, found.unit, kind="stress")
    if name.startswith(("movement", "shrinkage")):
        return f"{100 * found.value:.4g} %"
    return format_value(found.value, found.unit)


def source_of(found: Property) -> str:
    """The source, and how far it was seen, where the source does not say so itself."""
    return found.source if found.status in found.source else f"{found.source} ({found.status})"
