"""What a tracker does between its guides, over the seasons and on the shelf: closed forms on its pull and its sizes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from keyaction.models.formulas import sections, spans, wood
from keyaction.models.parts.common import section
from keyaction.models.train.train import Train, TrainPart
from keyaction.models.units.quantity import UnitProblem, parse_quantity
from keyaction.sim.compare.usual import SUMMER, WINTER, Climate
from keyaction.sim.figures.measure import value_at
from keyaction.sim.figures.record import Record
from keyaction.sim.figures.sketch import rigid

STACK_GAP = 0.002
"""m between rods that lie side by side; assumed."""


@dataclass(frozen=True)
class Seasons:
    """The two climates between which rods change their length."""

    winter: Climate = WINTER
    summer: Climate = SUMMER


FACTS: dict[str, tuple[str, str, str]] = {
    "rod_length": ("m", "length", "Length of the tracker."),
    "rod_mass": ("kg", "mass", "Mass of the tracker with its fittings."),
    "rod_line": ("kg/m", "mass per length", "Density times section."),
    "rod_stiffness": ("N/m", "stiffness with ends", "E A / L and both ends in series."),
    "rod_wave": ("s", "least wave time", "Length over sound speed: no pull can travel it faster."),
    "pull_rest": ("N", "pull at rest", "Pull in the tracker before the press."),
    "pull_pluck": ("N", "pull at the pluck", "Pull in the tracker when the pallet leaves its seat, slow press."),
    "pull_held": ("N", "pull held", "Pull in the tracker with the key held at the bottom, slow press."),
    "span_frequency": (
        "Hz",
        "span frequency, no guides",
        "Lowest sideways frequency of the whole length between its ends at the pull held; weak axis.",
    ),
    "guide_spacing": (
        "m",
        "longest clear span",
        f"Distance of guides at which that frequency is {spans.REPETITION_BAND[1]:g} Hz, the top of the repetition "
        "band.",
    ),
    "guides": ("", "guides needed", "Guides between the ends so that no span is longer than that."),
    "sag_held": (
        "m",
        "sag, no guides",
        "Sag of a level rod over its whole length at the pull held, weak axis; none where it is no small sag.",
    ),
    "sag_lost": (
        "m",
        "way lost to that sag",
        "Travel that goes into straightening that sag as the pull rises from held to the pluck; not in the simulated "
        "motion, whose rods are guided.",
    ),
    "sag_guided": ("m", "sag between guides", "Sag of a level rod between guides of that spacing, without a pull."),
    "season_change": ("m", "growth, winter to summer", "Growth of its length from the winter's climate to the "
                      "summer's."),
    "stack_breadth": (
        "m",
        "breadth of a stack",
        "Rods of the whole compass side by side in one layer, thin side across, 2 mm between them.",
    ),
    "stack_height": ("m", "height of a stack", "The other side of those rods."),
}  # fmt: skip
"""Name of every fact of a tracker: SI unit, label, definition."""


def parse_climate(text: str, option: str) -> Climate:
    """Read a climate such as ``"18 degC, 35 %"``.

    Raises
    ------
    ValueError
        If it is not a temperature and a humidity, or outside the published range; the message names the option.
    """
    temperature, comma, humidity = text.partition(",")
    try:
        if not comma:
            raise UnitProblem("a temperature and a humidity are needed, e.g. '18 degC, 35 %'")
        climate = parse_quantity(temperature, "K"), parse_quantity(humidity, "1")
        wood.moisture_content(*climate)
    except ValueError as problem:
        raise ValueError(f"{option} '{text}': {problem}") from None
    return climate


def way_ratio(train: Train, rod: str) -> float:
    """Way of a rod per way of the key front, nothing giving way."""
    ways = rigid(train).ways
    return next(ways[rod, place] for place in ("", "in") if (rod, place) in ways)


def pulls(record: Record, rod: str) -> tuple[float, float, float]:
    """Pull in a rod at rest, at the pluck and with the key held, N."""
    slow = record.slow
    first = next(link.element for link in record.kinematics.links if link.element.part == rod)
    force = slow[first.force]
    held = (slow.t > slow.drive.mark("bottom") + 0.02) & (slow.t <= slow.drive.mark("lift"))
    return float(force[0]), value_at(slow.t, force, record.pluck_time), float(np.mean(force[held]))


def rod_facts(part: TrainPart, pull: tuple[float, float, float], seasons: Seasons) -> dict[str, float]:
    """Every fact of one tracker of one note but its stack.

    Parameters
    ----------
    part : TrainPart
        A tracker.
    pull : tuple of float
        At rest, at the pluck, held (N).
    seasons : Seasons

    Returns
    -------
    dict
        SI values by the names of `FACTS`; what its fields do not give is left out.
    """
    values = part.values
    figures = {name: item.value for name, item in values.derived.items()}
    found = {
        "rod_mass": figures["m"],
        "rod_stiffness": figures["k_rod"],
        "pull_rest": pull[0],
        "pull_pluck": pull[1],
        "pull_held": pull[2],
    }
    bar = section(values)
    if not values.has("length"):
        return found
    length = values.number("length")
    found["rod_length"] = length
    if not values.has("material"):
        return found
    material = values.material("material")
    found["season_change"] = length * wood.length_strain(material, seasons.winter, seasons.summer)
    if bar is None:
        return found
    line = material["density"].value * bar.area
    bending = (material["E_flexural"] if "E_flexural" in material else material["E"]).value * bar.weak_axis
    return found | {"rod_line": line, "rod_wave": figures["wave_time"]} | _spans(part, pull, length, line, bending)


def _spans(
    part: TrainPart, pull: tuple[float, float, float], length: float, line: float, bending: float
) -> dict[str, float]:
    _, pluck, held = pull
    if not (math.isfinite(held) and held >= 0):
        return {}
    spacing = spans.clear_spacing(held, line, bending, spans.REPETITION_BAND[1])
    found = {
        "span_frequency": sections.span_frequency(held, line, length, bending),
        "guide_spacing": spacing,
        "guides": float(spans.guides_needed(length, spacing)),
    }
    if part.values.text("moves") != "level":
        return found
    count = spans.guides_needed(length, spacing)
    found["sag_guided"] = spans.hanging_sag(0.0, line, length / (count + 1), bending)
    slack = spans.hanging_sag(held, line, length, bending)
    if slack <= spans.SMALL_SAG * length:
        found["sag_held"] = slack
        if math.isfinite(pluck):
            taut = spans.hanging_sag(pluck, line, length, bending)
            found["sag_lost"] = sections.sag_lost_motion(slack, taut, length)
    return found


def stack(parts: list[TrainPart]) -> dict[str, float]:
    """Space that these rods take side by side in one layer, m; empty where their sections are not given."""
    sizes = [_sides(part) for part in parts]
    if not sizes or any(size is None for size in sizes):
        return {}
    known = [size for size in sizes if size is not None]
    breadth = sum(min(size) for size in known) + STACK_GAP * (len(known) - 1)
    return {"stack_breadth": breadth, "stack_height": max(max(size) for size in known)}


def _sides(part: TrainPart) -> tuple[float, float] | None:
    values = part.values
    if section(values) is None:
        return None
    fields = {"rectangle": ("width", "thickness"), "square": ("width", "width")}
    names = fields.get(values.text("section"), ("diameter", "diameter"))
    return values.number(names[0]), values.number(names[1])
