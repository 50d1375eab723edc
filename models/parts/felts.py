"""Felts, leathers and cloths that parts squeeze: their fields, their parameters and their law."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from keyaction.models import algebra
from keyaction.models.fields.fields import Field, length, table
from keyaction.models.fields.values import Values
from keyaction.models.many import maths
from keyaction.models.parts.geometry import check_felt

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder
    from keyaction.models.algebra.laws import Felt


def felt_table(name: str, doc: str, **defaults: Any) -> Field:
    """A felt, leather or cloth that is squeezed: from material and size, or a measured squeeze."""
    return table(
        name,
        doc,
        Field(
            "material",
            "felt, leather or cloth",
            kind="material",
            default=defaults.get("material"),
            source="common practice",
        ),
        length(
            "thickness",
            "thickness unloaded",
            low=5e-5,
            high=0.03,
            usual=(0.0005, 0.01),
            default=defaults.get("thickness"),
            source="common practice",
        ),
        Field(
            "area",
            "area in contact",
            unit="m^2",
            positive=True,
            high=0.05,
            usual=defaults.get("usual_area", (3e-5, 1e-3)),
            default=defaults.get("area"),
            source="common practice",
        ),
        length(
            "squeeze",
            "measured: how far it gives under `force`",
            high=0.02,
            usual=(5e-5, 0.004),
            source="common practice",
        ),
        Field(
            "force",
            "measured: the force of that squeeze",
            unit="N",
            positive=True,
            high=500.0,
            usual=(0.1, 50.0),
            source="common practice",
        ),
        Field(
            "alpha",
            "damping: loss of restitution per speed of impact",
            unit="s/m",
            low=0.0,
            high=20.0,
            usual=(0.05, 10.0),
            source="common practice",
        ),
    )


def felt(values: Values, path: str, base: str) -> float:
    """Stiffness K (N/m^1.5) and damping of the felt at `path` as parameters ``K_base``, ``alpha_base``."""
    check_felt(values, path)
    stiffness = f"K_{base}"
    doc = f"{path.replace('_', ' ')}, stiffness in F = K x^1.5"
    if values.has(f"{path}.squeeze", f"{path}.force"):
        k = values.number(f"{path}.force") / values.number(f"{path}.squeeze") ** 1.5
        values.set(stiffness, k, "N/m^1.5", doc, "from the measured squeeze")
    elif values.has(f"{path}.material", f"{path}.area", f"{path}.thickness"):
        size = values.number(f"{path}.area") / values.number(f"{path}.thickness") ** 1.5
        k = values.of(f"{path}.material", "stiffness") * size
        values.set(stiffness, k, "N/m^1.5", doc, values.source(f"{path}.material", "stiffness"))
    else:
        k = values.set(stiffness, 1.0, "N/m^1.5", doc, "missing")
        values.defects.append(f"{path}: give material, thickness and area, or else squeeze and force")
    known = f"alpha_{base}", "s/m", f"{path.replace('_', ' ')}, damping"
    if values.has(f"{path}.alpha"):
        values.set(known[0], values.number(f"{path}.alpha"), *known[1:], values.origin(f"{path}.alpha"))
    elif values.has(f"{path}.material"):
        values.set(
            known[0],
            values.of(f"{path}.material", "alpha"),
            *known[1:],
            values.source(f"{path}.material", "alpha"),
        )
    else:
        values.set(known[0], 1.0, *known[1:], "assumed: common practice for a felt that was measured without it")
    return maths.number(k)


def felt_law(builder: Builder, base: str) -> Felt:
    """The law of the felt `base`."""
    law: Felt = algebra.Felt(
        builder.param(f"K_{base}", "N/m^1.5", f"{base} felt stiffness"),
        builder.param(f"alpha_{base}", "s/m", f"{base} felt damping"),
    )
    return law
