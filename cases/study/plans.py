"""The plans by which a study's designs are chosen, and the field that says how large each is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from keyaction.cases.text.defects import Place
from keyaction.models.fields.fields import Field

SIZES: Mapping[str, str] = {
    "latin": "designs",
    "sobol": "base_points",
    "random": "designs",
    "morris": "trajectories",
    "tolerances": "designs",
}
"""Field of a study that says the size of its plan."""
LEVELLED = ("grid", "one-at-a-time")
"""Plans whose size follows from their levels."""
PLANS = (*LEVELLED, *SIZES)
USUAL_LEVELS = {"grid": 3, "one-at-a-time": 2, "morris": 4}
_FORMER = "runs"
"""What studies of earlier versions called the size of every plan."""


def size_words(plan: str) -> str:
    """What the size of a plan counts: "base points"."""
    return SIZES[plan].replace("_", " ")


_LARGEST, _LARGEST_KEPT = 1_000_000_000, 10_000_000
"""Largest size of a plan; and of a latin plan, which is kept whole in memory: 80 MB for each input."""
_FIELDS = {
    name: Field(name, f"how many {size_words(plan)}", kind="count", low=1, high=_LARGEST)
    for plan, name in SIZES.items()
}


def size_fields(table: Mapping[str, object]) -> list[Field]:
    """The field for the size of a table's plan; all that there are if its plan cannot be read."""
    plan = table.get("plan")
    found = [one for name, one in _FIELDS.items() if plan not in PLANS or name == SIZES.get(str(plan))]
    return [replace(one, high=_LARGEST_KEPT) for one in found] if plan == "latin" else found


def strange_sizes(table: Mapping[str, object]) -> list[str]:
    """Fields of a table that say a size which its plan does not have."""
    plan = table.get("plan")
    if plan not in PLANS:
        return []
    return [key for key in table if key in (_FORMER, *_FIELDS) and key != SIZES.get(str(plan))]


def check_size(place: Place, table: Mapping[str, object]) -> None:
    """Record a size that is missing, and every one that the plan does not have; its name is told."""
    plan, strange = table.get("plan"), strange_sizes(table)
    own = SIZES.get(str(plan))
    for key in strange:
        why = f"unknown; the plan {plan} has {own}" if own else f'the size of plan = "{plan}" follows from its levels'
        place.defect(key, why, table[key])
    if own and own not in table and not strange:
        place.defect(own, f"missing; how many {size_words(str(plan))} the plan {plan} has")
