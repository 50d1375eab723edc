"""The pedal key: hinged at its heel, held up by a spring of its own."""

from __future__ import annotations

from dataclasses import replace

from keyaction.models.fields.fields import Field, choice
from keyaction.models.fields.values import Values
from keyaction.models.parts.key import Key

_DICKSON = "5/8 in, at most 3/4 in: 15.9 to 19.1 mm (W. E. Dickson, Practical Organ-Building, 1882, p. 50)"
_USUAL = {
    "front": ((0.3, 0.75), "common practice"),
    "arm": ((0.2, 0.85), "common practice"),
    "dip": ((0.012, 0.02), _DICKSON),
    "stick_front": ((0.35, 0.95), "common practice"),
    "stick_tail": ((0.004, 0.2), "common practice"),
    "width": ((0.018, 0.03), "common practice"),
    "height": ((0.025, 0.06), "common practice"),
    "balance_moment": ((-1.0, 4.0), "computed from the usual sizes and woods"),
    "inertia": ((0.02, 0.5), "computed from the usual sizes and woods"),
    "mass": ((0.15, 1.5), "computed from the usual sizes and woods"),
    "rest_felt_at": ((0.2, 0.9), "common practice"),
}
"""What a pedal key usually is, where that is not what a key for fingers is."""


def _own(one: Field) -> Field:
    """A field of the key with the usual range of a pedal key."""
    if one.name == "balance":
        told = "hinged at its heel; the toe presses it beyond"
        return choice("balance", told, "heel-hinged", default="heel-hinged", source="the part's usual shape")
    if one.name not in _USUAL:
        return one
    usual, source = _USUAL[one.name]
    return replace(one, usual=usual, usual_source=source)


class PedalKey(Key):
    """A key for the feet: as a hung key to the rod that it draws, but longer, heavier, with a deeper dip."""

    kind = "pedal-key"
    title = "pedal key"
    keyboard = "pedal"
    usual_pluck = (3.0, 20.0)
    """N: of an uncoupled pedal (common practice)."""
    comfortable = None  # no figure is known of feet
    usual_coupled = None
    fields = (
        *(_own(one) for one in Key.fields),
        Field(
            "spring_force",
            "lift of its own spring at the toe, taken as the same all the way",
            unit="N",
            low=0.0,
            high=60.0,
            usual=(3.0, 25.0),
            source="common practice",
        ),
    )

    @classmethod
    def lift(cls, values: Values) -> None:
        weight = values.derived["B"]
        if not values.has("front", "spring_force"):
            return
        lifted = weight.value - values.number("spring_force") * values.number("front")
        values.set("B", lifted, weight.unit, "moment of the key's weight less its spring's", weight.origin)
