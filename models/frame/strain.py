"""How much longer a thing becomes, over its length, by its moisture and its warmth: as the day of regulation had it.

The same laws and coefficients as `keyaction.models.formulas.wood`, which has their sources, over courses of moisture
that lag behind the air in place of moistures at rest.
"""

from __future__ import annotations

from typing import cast

import numpy as np

from keyaction.models.climate.year import Floats
from keyaction.models.formulas import wood
from keyaction.models.materials.types import Material

WOOD = "wood"
ALONG = "along"


def swells(material: Material | None) -> bool:
    """Whether moisture changes its size: of wood alone (assumed; carbon and glass take up next to none)."""
    return material is not None and material.kind == WOOD


def strain(material: Material, grain: str, temperature: Floats, moisture: Floats, at: tuple[float, float]) -> Floats:
    """Growth over length since the day of regulation.

    Parameters
    ----------
    material : Material
        Wood swells along the grain by ``shrinkage_longitudinal`` in proportion to its moisture below fibre saturation,
        across it by ``movement_radial`` or ``movement_tangential`` per 1 % of moisture (published for 6 to 14 %, taken
        to hold beyond); everything grows by heat. A property that the material lacks makes nothing: `lacking` names it.
    grain : str
        "along", "radial" or "tangential"; of what is not wood it says nothing.
    temperature : (N,) array
        K.
    moisture : (N,) array
        Moisture content of the thing itself, as a share; of what is not wood it says nothing.
    at : (float, float)
        Temperature (K) and moisture content on the day of regulation.

    Returns
    -------
    (N,) array
        Positive when it has grown longer.
    """
    temperature, moisture = np.asarray(temperature, dtype=float), np.asarray(moisture, dtype=float)
    grown = heat_expansion(material, grain) * (temperature - at[0])
    if not swells(material):
        return grown
    wet = np.minimum(moisture, wood.FIBRE_SATURATION) - min(at[1], wood.FIBRE_SATURATION)
    return grown + moisture_expansion(material, grain) * wet


def heat_expansion(material: Material, grain: str) -> float:
    """Growth per kelvin, 1/K; 0 where the material does not tell it."""
    if swells(material) and grain != ALONG:
        found = wood.across_expansion(material, cast(wood.Way, grain))
        return 0.0 if np.isnan(found) else found
    return _value(material, "thermal_expansion")


def moisture_expansion(material: Material, grain: str) -> float:
    """Growth of wood per moisture content as a share; 0 where the material does not tell it."""
    if grain == ALONG:
        return _value(material, "shrinkage_longitudinal") / wood.FIBRE_SATURATION
    return 100 * _value(material, f"movement_{grain}")


def lacking(material: Material, grain: str) -> tuple[str, ...]:
    """Properties that `strain` needs and the material does not give."""
    if not swells(material) or grain == ALONG:
        needs = ("thermal_expansion", "shrinkage_longitudinal")[: 2 if swells(material) else 1]
    else:
        needs = ("movement_radial", "movement_tangential", "density")
    return tuple(name for name in needs if name not in material)


def _value(material: Material, name: str) -> float:
    return material[name].value if name in material else 0.0
