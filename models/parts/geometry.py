"""Sizes of one part that contradict each other: impossible ones are refused, odd ones warned of.

A range of one field alone stands with the field; here is what depends on other values of the part. Every function
looks only at what is given, so that a part with missing fields is checked as far as it goes.
"""

from __future__ import annotations

from keyaction.models.fields.values import Values, in_unit
from keyaction.models.many import maths

FEELER = 5e-5
"""m: the thinnest blade of a usual feeler gauge, 0.05 mm (common practice): less play cannot be set."""
REST_FORCE = 0.5
"""N at the front by which a balanced key may be kept up: about 50 gf (common practice)."""
LEAST_GROOVE = 1e-5
"""m^3: a fifth of the smallest usual groove; with less air its pressure follows everything at once."""


def _mm(size: float) -> str:
    return in_unit(size, "m")


def _below(values: Values, path: str, limit: float, told: str) -> None:
    """Refuse a length above its limit."""
    if values.has(path) and values.number(path) > limit * (1 + 1e-9):
        values.refuse(path, "m", f"{told}; allowed: up to {_mm(limit)}")


def pallet_end(values: Values) -> float | None:
    """From a pallet's hinge to its free end, m; None where its sizes are not all given."""
    needs = ("hinge_to_opening", "opening_length", "overlap")
    return sum(values.number(one) for one in needs) if values.has(*needs) else None


def check_key(values: Values) -> None:
    """The finger, felts and leads are on the stick; a balanced key rests by itself."""
    if values.has("stick_front", "stick_tail"):
        _check_stick(values, values.number("stick_front"), values.number("stick_tail"))
    sides = [values.number(side) for side in ("width", "height") if values.has(side)]
    if sides:
        _below(values, "pin.diameter", maths.least(sides), "thicker than the key's stick")
    for felt in ("rest_felt", "bottom_felt"):
        path = f"{felt}.thickness"
        if values.remarks and values.has(path, "dip") and values.number(path) > values.number("dip"):
            values.odd(path, "m", "thicker than the key's dip")
    if values.remarks:
        _check_rest(values)


def _check_stick(values: Values, front: float, tail: float) -> None:
    _below(values, "front", front, "the finger presses beyond the front end of the stick")
    _below(values, "rest_felt_at", maths.larger(front, tail), "beyond the ends of the stick")
    balanced = values.has("balance") and values.text("balance") == "balanced"
    if values.remarks and values.has("arm") and values.number("arm") > (tail if balanced else front):
        values.odd("arm", "m", f"the first rod is beyond the {'tail' if balanced else 'front'} end of the stick")
    for i in range(values.count_rows("leads")):
        path = f"leads.{i}.at"
        if values.has(path) and not -tail <= values.number(path) <= front:
            values.refuse(path, "m", f"beyond the ends of the stick; allowed: {_mm(-tail)} to {_mm(front)}")


def _check_rest(values: Values) -> None:
    moment = values.derived["B"].value
    if not values.has("balance", "front"):
        return
    balanced = values.text("balance") == "balanced"
    if balanced and moment > 0:
        told = "front-heavy: nothing but the pallet's spring keeps the key up (common practice: leads at the tail do)"
        values.odd("balance_moment", "N*m", told, moment)
    elif balanced and -moment / values.number("front") > REST_FORCE:
        told = f"tail-heavy: the key is kept up by more than {in_unit(REST_FORCE, 'N')} at the front"
        values.odd("balance_moment", "N*m", f"{told} (common practice: less)", moment)
    elif values.text("balance") == "tail-hinged" and moment < 0:
        values.odd("balance_moment", "N*m", "a hung key that weighs upwards at its front", moment)


def check_groove(values: Values) -> None:
    """A groove whose sizes leave hardly any air is none."""
    volume = values.derived["V"].value
    if volume < LEAST_GROOVE and values.has("length", "width", "depth") and not values.has("volume"):
        told = f"length x width x depth is {volume * 1e6:.3g} cm³, which is no groove"
        values.refuse("depth", "m", f"{told}; allowed: {LEAST_GROOVE * 1e6:g} cm³ or more")


def check_felt(values: Values, path: str) -> None:
    """A felt gives by less than it is thick."""
    if values.has(f"{path}.thickness"):
        _below(values, f"{path}.squeeze", values.number(f"{path}.thickness"), "more than the felt is thick")


def check_wall(values: Values) -> bool:
    """Whether a tube's wall has room in its diameter."""
    before = len(values.defects)
    _below(values, "wall", values.number("diameter") / 2, "thicker than the tube's radius")
    return len(values.defects) == before


def check_rod(values: Values) -> None:
    """Play is none or can be felt; a rod is longer than it is thick."""
    if not values.remarks:
        return
    if values.has("lost_motion") and 0 < values.number("lost_motion") < FEELER:
        told = f"less than the thinnest feeler blade, {_mm(FEELER)}: it cannot be set (common practice); write 0 mm"
        values.odd("lost_motion", "m", told)
    sides = [values.number(side) for side in ("diameter", "width", "thickness") if values.has(side)]
    if values.has("length") and sides and values.number("length") < 5 * max(sides):
        values.odd("length", "m", "less than 5 times its width: no rod")


def check_lever(values: Values) -> None:
    """The pin leaves wood beside it; one arm is not many times the other."""
    if values.has("width"):
        _below(values, "pin.diameter", values.number("width"), "thicker than the arms are wide")
    check_arms(values)


def check_arms(values: Values) -> None:
    """One arm of a lever is not many times the other."""
    if (
        values.remarks
        and values.has("in_arm", "out_arm")
        and not 0.2 <= values.number("out_arm") / values.number("in_arm") <= 5
    ):
        values.odd("out_arm", "m", "outside the usual 1/5 to 5 times the other arm (common practice)")


def check_roller(values: Values) -> None:
    """The pin has room in the shaft; arms are not longer than the shaft."""
    side = "diameter" if values.has("diameter") else "width"
    if values.has(side, "section"):
        _below(values, "pin.diameter", values.number(side), "thicker than the roller")
    check_arms(values)
    for arm in ("in_arm", "out_arm"):
        if values.remarks and values.has(arm, "length") and values.number(arm) > 2 * values.number("length"):
            values.odd(arm, "m", "more than twice the length of the roller: a square or a backfall would do")


def check_pallet(values: Values) -> None:
    """Eye, leather and felt are within the wood."""
    end = pallet_end(values)
    if end is not None:
        _below(values, "eye", end, "the eye is beyond the free end of the pallet")
        if values.remarks and values.has("eye") and values.number("eye") < end / 2:
            told = "less than half of the pallet's length from the hinge (common practice: near the free end)"
            values.odd("eye", "m", told)
    if values.has("opening_length"):
        _below(values, "opening_width", values.number("opening_length"), "the opening is wider than it is long")
    _check_leather(values)
    if values.has("thickness"):
        _below(values, "pin.diameter", values.number("thickness"), "the hinge's pin is thicker than the pallet")


def _check_leather(values: Values) -> None:
    margin = values.number("sealing_margin") if values.has("sealing_margin") else 0.0
    if values.remarks:
        _remark_on_margin(values, margin)
    if values.has("seat.area", "opening_length", "opening_width", "overlap"):
        cover = 2 * values.number("overlap")
        face = (values.number("opening_length") + cover) * (values.number("opening_width") + cover)
        if values.number("seat.area") > face * (1 + 1e-9):
            told = f"more than the pallet's face; allowed: up to {in_unit(face, 'm^2')}"
            values.refuse("seat.area", "m^2", told)


def _remark_on_margin(values: Values, margin: float) -> None:
    if values.has("overlap") and margin > values.number("overlap"):
        values.odd("sealing_margin", "m", "the leather seals beyond the wood, which reaches as far as `overlap`")
    if values.has("hinge_to_opening") and margin > values.number("hinge_to_opening"):
        values.odd("sealing_margin", "m", "the leather seals behind the hinge: more than `hinge_to_opening`")
    if 0 < margin < FEELER:
        values.odd("sealing_margin", "m", f"less than {_mm(FEELER)}: not to be told from 0 mm (common practice)")


def check_wire(values: Values) -> None:
    """A spring of wire can be wound, and presses."""
    wire = {name: f"wire.{name}" for name in ("diameter", "coil_diameter", "arm", "free_gape", "closed_gape")}
    if values.has(wire["diameter"], wire["coil_diameter"]):
        _below(values, wire["diameter"], values.number(wire["coil_diameter"]), "thicker than its coils are wide")
    if values.has(wire["free_gape"], wire["closed_gape"]):
        free = values.number(wire["free_gape"])
        _below(values, wire["closed_gape"], free, "wider than the free spring: it does not press")
    if values.has(wire["free_gape"], wire["arm"], wire["coil_diameter"]):
        reach = 2 * values.number(wire["arm"]) + values.number(wire["coil_diameter"])
        _below(values, wire["free_gape"], reach, "wider than both legs reach")
