"""A rod's first sideways motion between its guides: one arch over the longest span, and what it slaps against.

A reduced model, which a case asks for: the other spans stay straight, and so does the arch's shape a sine. The way of
its middle counts from where it rests without a pull.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from keyaction.models import algebra
from keyaction.models.fields.fields import Field, length
from keyaction.models.fields.values import Values, in_unit
from keyaction.models.formulas import sections, side_motion, spans
from keyaction.models.many import maths
from keyaction.models.parts import guides
from keyaction.models.parts.base import Shape
from keyaction.models.parts.bending import slender
from keyaction.models.parts.common import damped, on_edge
from keyaction.models.parts.felts import felt, felt_law, felt_table

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder, Port

PIECE = "side"
"""Which of a rod's bodies the arch is."""
SLOW = ("m_slow",)
"""What makes the arch swing slowly: a train is brought to rest without it."""
_CROOKED = 1 / 500
"""Bow of a rod that its weight does not bow, as a share of the span (assumed)."""
_QUICK = 2 * math.pi * 30
"""rad/s at which the arch swings while the train is brought to rest, or faster."""
_TAUT_SHARE = 0.01
"""Share of a taut rod's resistance that counts beside the arch's own, lest it swing too fast there."""

_SLAP = felt_table(
    "slap",
    "what stands beside the middle of its longest span on both sides: comb or neighbours",
    usual_area=(5e-6, 3e-4),
)
FIELDS = (
    Field(
        "side_motion",
        "whether its longest span between guides may whip: one sideways arch in the motion",
        kind="flag",
        default=False,
        source="a rod is straight between its guides",
        varies=False,
    ),
    Field(
        "bow",
        "how crooked the longest span is without any load, at its middle; with side motion",
        unit="m",
        low=0.0,
        high=0.5,
        usual=(0.0, 0.01),
        source="common practice: straightened by eye",
    ),
    Field(
        "side_loss",
        "damping of the side motion, as a share of critical of the slack span",
        kind="number",
        low=0.0,
        high=1.0,
        usual=(0.001, 0.2),
        default=0.02,
        source="assumed; common practice has no figure",
    ),
    replace(
        _SLAP,
        fields=(
            length(
                "play",
                "from the straight rod's face to that of what stands beside it, on each side",
                high=0.2,
                usual=(0.0005, 0.03),
                source="common practice",
            ),
            *_SLAP.fields,
        ),
    ),
)
_NEEDS = ("length", "material", "section")


def asked(values: Values) -> bool:
    """Whether a rod may whip."""
    return values.has("side_motion") and bool(values.given["side_motion"].value)


def _slaps(values: Values) -> bool:
    return any(path.startswith("slap.") for path in values.given)


def shape(values: Values) -> Shape:
    """What side motion changes about the equations; nothing without it."""
    return (PIECE, _slaps(values)) if asked(values) else ()


def resolve(values: Values, bar: sections.Section | None, pushes: bool) -> None:
    """Parameters of the arch over the longest span, from the rod's sizes; none without side motion."""
    if not asked(values):
        _unused(values)
        return
    values.used.add("side_motion")
    lacking = [name for name in _NEEDS if not values.has(name)]
    if lacking:
        values.defects.append(f"side_motion: of a rod by its sizes; give {', '.join(lacking)}")
    if int(values.number("pieces")):
        values.defects.append("side_motion: of a rod in one piece; allowed: pieces = 0")
    if _slaps(values):
        _neighbours(values)
    if lacking or bar is None or values.defects:
        return
    span = maths.largest(guides.spans_of(values))
    line, bending = values.of("material", "density") * bar.area, slender(values, "material") * bar.weak_axis
    lies = values.text("moves") == "level" and (bar.strong_axis <= bar.weak_axis or not on_edge(values))
    mass, firm = side_motion.modal_mass(line, span), side_motion.stiffness(0.0, span, bending)
    values.fact("side_span", span, "m", "longest span, which may whip")
    values.fact("side_slack", maths.sqrt(firm / mass) / (2 * math.pi), "Hz", "its lowest frequency, slack")
    bow, origin = _bow(values, span, lies)
    values.set("W_side", side_motion.load(line, span) if lies else 0.0, "N", "weight that bows the span",
               "2/pi of the span's" if lies else "its weight does not bow it")  # fmt: skip
    values.set("k_side", firm, "N/m", "stiffness of the bowed span", "pi^4 E I/2 L^3")
    values.set("c_side", damped(mass, firm, values.number("side_loss")), "N*s/m", "damping of the side motion",
               values.origin("side_loss"))  # fmt: skip
    values.set("n_side", side_motion.per_square(span), "1/m", "shortening per square of the bow", "pi^2/4 L")
    at = _at_rest(values, bow)
    values.set("y_side", at, "m", "bow at rest without a pull", "weight, stiffness and what stands beside it")
    values.set("bent_side", at - bow, "m", "of that the bending", origin)
    _masses(values, mass, firm)
    if not abs(at) <= spans.SMALL_SAG * span:
        told = f"its span of {in_unit(span, 'm')} hangs through by {in_unit(at, 'm')} when it is slack"
        values.defects.append(f"side_motion: {told}; allowed: a tenth of the span (guides stand nearer)")
    if pushes:
        push = sections.euler_load(1.0, bending, span)
        values.fact("side_euler", push, "N", "push at which that span buckles, pivoted at its guides")


def _neighbours(values: Values) -> None:
    """What stands beside the rod: how near, and its felt."""
    values.set("gap_slap", values.number("slap.play"), "m", "from the straight rod to what stands beside it", "case")
    felt(values, "slap", "slap")


def _unused(values: Values) -> None:
    """What is of side motion alone is remarked on where there is none."""
    for path in ("bow", "slap.play"):
        if values.has(path):
            values.odd(path, "m", "of a rod with side_motion = true alone: nothing comes of it here")


def _bow(values: Values, span: float, lies: bool) -> tuple[float, str]:
    """Bow of the unloaded span (m), and where it is from."""
    if values.has("bow"):
        return values.number("bow"), values.origin("bow")
    if lies:
        return 0.0, "computed: straight but for its weight"
    return _CROOKED * span, f"assumed: crooked by a share of {_CROOKED:g} of the span"


def _at_rest(values: Values, bow: float) -> float:
    """Where the middle rests without a pull, by its weight, its stiffness and what stands beside it."""
    firm, weight = values.derived["k_side"].value, values.derived["W_side"].value
    free = bow + weight / firm
    if not _slaps(values):
        return free
    gap, soft = values.derived["gap_slap"].value, values.derived["K_slap"].value
    if free <= gap:
        return free
    low, high = gap, free  # the pushes balance between touching and where it would hang without
    for _ in range(200):
        at = (low + high) / 2
        low, high = (at, high) if firm * (free - at) > soft * (at - gap) ** 1.5 else (low, at)
    return (low + high) / 2


def _masses(values: Values, mass: float, firm: float) -> None:
    """The modal mass in two: what is left as the train is brought to rest, and what makes it slow."""
    taut = values.derived["k"].value * (2 * values.derived["n_side"].value * values.derived["y_side"].value) ** 2
    quick = maths.smaller(mass, (firm + _TAUT_SHARE * taut) / _QUICK**2)
    how = "numerical: half of the span's, but as the train is brought to rest"
    values.set("m_quick", quick, "kg", "mass of the side motion as the train is brought to rest", how)
    values.set("m_slow", mass - quick, "kg", "what else moves sideways", "half of the span's mass, less that")


def assemble(builder: Builder, name: str, shape: Shape) -> Port:
    """The arch as a body; the port whose travel is what its bow takes of the rod's length beyond that at rest."""
    p = builder.param
    arch = builder.coordinate("m", f"sideways way of the middle of {name}'s longest span", piece=PIECE)
    at, per = p("y_side", "m", "bow at rest"), p("n_side", "1/m", "shortening per square of the bow")
    builder.inertia(arch, p("m_quick", "kg", "mass of the side motion") + p("m_slow", "kg", "what else moves sideways"))
    builder.weight(-p("W_side", "N", "weight that bows the span") * arch.q)
    middle, other = algebra.Port(arch.name, arch, arch.q), algebra.Port(f"{arch.name}.other", arch, -arch.q)
    firm = algebra.Bar(p("k_side", "N/m", "stiffness of the span"), p("c_side", "N*s/m", "damping of the side motion"))
    bent = p("bent_side", "m", "bending at rest")
    builder.element("side", "bow", [(middle, 1)], firm, f"bow of {name}", offset=bent)
    if shape[1]:
        gap, law = p("gap_slap", "m", "gap beside the rod"), felt_law(builder, "slap")
        builder.element("slap", "felt", [(middle, 1)], law, f"slap of {name}", offset=at - gap)
        builder.element("slap_back", "felt", [(other, 1)], law, f"slap back of {name}", offset=-at - gap)
    shorter: Port = algebra.Port(f"{arch.name}.length", arch, per * (2 * at + arch.q) * arch.q)
    return shorter
