"""A rod between guides at rest, at the pluck and held: how it whips and sags, and the guides that it needs.

Whip goes about the weaker axis however a strip lies: up and down where it lies flat, sideways where it is on edge. Sag
goes about the axis on which it lies. Guides and ends are taken as pivots, the safe side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from keyaction.models.formulas import sections, spans

TOP = spans.REPETITION_BAND[1]
_BAND = f"{TOP:g} Hz, the top of the repetition band"

SPAN_FACTS: dict[str, tuple[str, str, str]] = {
    "span_rest": (
        "Hz",
        "span frequency at rest, no guides",
        "Lowest sideways frequency of the whole length between its ends at the pull at rest; none where it buckles.",
    ),
    "span_held": ("Hz", "span frequency held, no guides", "The same at the pull held."),
    "clear_rest": ("m", "clear span at rest", f"Distance of guides at which that frequency at rest is {_BAND}."),
    "clear_pluck": (
        "m",
        "clear span at the pluck",
        "The same at the pluck, for a rod that is pushed: it is softest where it is pushed most.",
    ),
    "clear_held": ("m", "clear span held", "The same at the pull held."),
    "guides": (
        "",
        "guides needed",
        "Guides between the ends so that no span is longer than the clear span of any state.",
    ),
    "guides_held": ("", "guides needed held alone", "The same for the pull held alone; at rest the rod may then whip."),
    "few_rest": (
        "Hz",
        "span frequency at rest with those",
        "Lowest sideways frequency at the pull at rest between the guides needed held alone.",
    ),
    "rest_wanted": (
        "N",
        "pull at rest to do with those",
        "Pull at rest at which the guides needed held alone keep the rod clear at rest too.",
    ),
    "guided_rest": (
        "Hz",
        "span frequency at rest, with guides",
        "Lowest sideways frequency between the guides needed, at the pull at rest.",
    ),
    "guided_held": ("Hz", "span frequency held, with guides", "The same at the pull held."),
    "sag_rest": (
        "m",
        "sag at rest, no guides",
        "Sag of a level rod over its whole length at the pull at rest, about the axis on which it lies; none where it "
        "is no small sag.",
    ),
    "sag_guided_rest": (
        "m",
        "sag at rest, with guides",
        "Sag of a level rod between the guides needed at the pull at rest.",
    ),
    "sag_held": ("m", "sag held, no guides", "Sag of a level rod over its whole length at the pull held."),
    "sag_guided_held": (
        "m",
        "sag held, with guides",
        "Sag of a level rod between the guides needed at the pull held.",
    ),
    "sag_lost": (
        "m",
        "way lost to sag by the pluck, no guides",
        "Travel that goes into straightening the sag as the pull rises from rest to the pluck: shortening at rest less "
        "that at the pluck, of the elastic line; or into deepening it as a push rises. In the simulated motion "
        "of a rod with side_motion = true alone, of its longest span; others are straight there.",
    ),
    "sag_guided_lost": (
        "m",
        "way lost to sag by the pluck, with guides",
        "The same between the guides needed, all spans together.",
    ),
}
"""Name of every fact of a rod between guides: SI unit, label, definition."""


@dataclass(frozen=True)
class Pulls:
    """Pull in a rod in three states, N; below zero it pushes, NaN where the state is not reached."""

    rest: float
    pluck: float
    held: float

    @property
    def pushes(self) -> bool:
        """Whether it carries its load by a push."""
        return self.pluck < 0 or self.held < 0  # either may be NaN


def span_facts(
    pull: Pulls, length: float, mass_per_length: float, bending: float, against_sag: float | None
) -> dict[str, float]:
    """Whip, guides and sag of a rod.

    Parameters
    ----------
    pull : Pulls
    length : float
        Between its ends, m.
    mass_per_length : float
        kg/m.
    bending : float
        E I about the weaker axis, N*m2.
    against_sag : float or None
        E I about the axis on which it lies, N*m2; None for a rod that is not level.

    Returns
    -------
    dict
        SI values by the names of `SPAN_FACTS`; what is not known is left out.
    """
    states = {"rest": pull.rest, "held": pull.held} | ({"pluck": pull.pluck} if pull.pushes else {})
    states = {name: force for name, force in states.items() if math.isfinite(force)}
    if not states:
        return {}
    clear = {name: spans.clear_spacing(force, mass_per_length, bending, TOP) for name, force in states.items()}
    count = max(spans.guides_needed(length, one) for one in clear.values())
    found = {f"clear_{name}": one for name, one in clear.items()} | {"guides": float(count)}
    for name, force in states.items():
        if name != "pluck":
            found[f"span_{name}"] = sections.span_frequency(force, mass_per_length, length, bending)
            found[f"guided_{name}"] = sections.span_frequency(force, mass_per_length, length / (count + 1), bending)
    if "held" in clear:
        few = spans.guides_needed(length, clear["held"])
        found["guides_held"] = float(few)
        if few < count and "rest" in clear and not pull.pushes:
            found["few_rest"] = sections.span_frequency(pull.rest, mass_per_length, length / (few + 1), bending)
            found["rest_wanted"] = spans.clear_pull(length / (few + 1), mass_per_length, bending, TOP)
    return found | (_sags(pull, length, mass_per_length, against_sag, count) if against_sag else {})


def _sags(pull: Pulls, length: float, mass_per_length: float, bending: float, guides: int) -> dict[str, float]:
    found: dict[str, float] = {}
    for words, pieces in (("", 1), ("_guided", guides + 1)):
        span = length / pieces
        of_span = (mass_per_length, span, bending)
        found |= {f"sag{words}_{state}": _sag(getattr(pull, state), *of_span) for state in ("rest", "held")}
        rest, pluck = (_shortening(force, *of_span) for force in (pull.rest, pull.pluck))
        found[f"sag{words}_lost"] = pieces * (pluck - rest if pull.pushes else rest - pluck)
    return {name: value for name, value in found.items() if math.isfinite(value)}


def _sag(force: float, mass_per_length: float, span: float, bending: float) -> float:
    """Sag of one span, m; NaN where the closed forms no longer hold."""
    sag = spans.hanging_sag(force, mass_per_length, span, bending)
    return sag if sag <= spans.SMALL_SAG * span else math.nan


def _shortening(force: float, mass_per_length: float, span: float, bending: float) -> float:
    """What a span's sag takes of its length, m; NaN where the sag is none or too great."""
    known = math.isfinite(_sag(force, mass_per_length, span, bending))
    return spans.shortening(force, mass_per_length, span, bending) if known else math.nan
