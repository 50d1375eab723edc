"""What a rod weighs, pulls, costs and does over the seasons and on the shelf: closed forms on its pull and sizes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from keyaction.models.formulas import wood
from keyaction.models.parts.common import section
from keyaction.models.parts.rods import carried_weight, guide_coefficient, on_edge
from keyaction.models.train.train import Train, TrainPart
from keyaction.models.units.quantity import UnitProblem, parse_quantity
from keyaction.sim.compare.prices import Price, price_of
from keyaction.sim.compare.rod_spans import SPAN_FACTS, Pulls, span_facts
from keyaction.sim.compare.usual import SUMMER, WINTER, Climate
from keyaction.sim.figures.record import Pressed
from keyaction.sim.figures.sketch import rigid

STACK_GAP = 0.002
"""m between rods that lie side by side; assumed."""


@dataclass(frozen=True)
class Seasons:
    """The two climates between which rods change their length."""

    winter: Climate = WINTER
    summer: Climate = SUMMER


FACTS: dict[str, tuple[str, str, str]] = {
    "rod_length": ("m", "length", "Length of the rod."),
    "rod_mass": ("kg", "mass", "Mass of the rod with its fittings."),
    "rod_line": ("kg/m", "mass per length", "Density times section."),
    "rod_stiffness": ("N/m", "stiffness with ends", "E A / L and both ends in series."),
    "rod_wave": ("s", "travel time of a pull", "Length over sound speed: no pull can travel it faster."),
    "pull_rest": (
        "N",
        "pull at rest",
        "Pull in the rod before the press, without friction: weights, rail springs and pallet as the case has them; "
        "below zero it pushes.",
    ),
    "pull_pluck": ("N", "pull at the pluck", "Pull in the rod when the pallet leaves its seat, slow press."),
    "pull_held": ("N", "pull held", "Pull in the rod with the key held at the bottom, slow press."),
    **SPAN_FACTS,
    "weight_friction": (
        "N",
        "friction of its weight on guides",
        "Weight of a level rod times the friction coefficient of its guides, the case's or cloth on a pin; in the "
        "simulated motion only where the case gives the rod guides.",
    ),
    "guide_friction": (
        "N",
        "friction of its guides, held",
        "Friction of the guides that the case gives the rod: break-away, weight, and bends times the pull held; in the "
        "simulated motion.",
    ),
    "season_change": ("m", "growth, winter to summer", "Growth of its length from the winter's climate to the "
                      "summer's, by moisture and by heat."),
    "price": ("", "price", "Length times the price a metre that was given, in that money."),
    "stack_breadth": (
        "m",
        "breadth of a stack",
        f"Rods of the whole compass side by side in one layer as they lie, {STACK_GAP * 1e3:g} mm between them.",
    ),
    "stack_height": ("m", "height of a stack", "The other side of those rods."),
    "stack_price": ("", "price of a stack", "Price of those rods together."),
}  # fmt: skip
"""Name of every fact of a rod: SI unit, label, definition."""
OF_STACKS = ("stack_breadth", "stack_height", "stack_price")
"""Those that belong to the rods of all notes together."""


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


def pulls(record: Pressed, rod: str) -> Pulls:
    """Pull in a rod at rest, at the pluck and with the key held at the bottom; of one that pushes, below zero."""
    sense = -1 if getattr(record.model.train.part(rod).part, "pushed", False) else 1
    first = next(link.element for link in record.kinematics.links if link.element.part == rod)
    force = sense * record.press.down[first.force]
    slant = _slant(record.model.train.part(rod))
    return Pulls(float(force[0]) / slant, sense * record.at_pluck(first.force) / slant, float(force[-1]) / slant)


def _slant(part: TrainPart) -> float:
    """Share of a rod's pull that moves its levers: less than 1 of a splayed one."""
    slant = part.values.derived.get("cos_splay")
    return slant.value if slant else 1.0


def rod_facts(part: TrainPart, pull: Pulls, seasons: Seasons, prices: Sequence[Price] = ()) -> dict[str, float]:
    """Every fact of one rod of one note but its stack.

    Parameters
    ----------
    part : TrainPart
        A tracker or sticker.
    pull : Pulls
    seasons : Seasons
    prices : sequence of Price

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
        "pull_rest": pull.rest,
        "pull_pluck": pull.pluck,
        "pull_held": pull.held,
    }
    if values.text("moves") == "level":
        found["weight_friction"] = guide_coefficient(values)[0] * carried_weight(values)
    if "F0" in figures:
        found["guide_friction"] = figures["F0"] + figures["mu_bend"] * abs(pull.held) * _slant(part)
    if not values.has("length"):
        return found
    length = values.number("length")
    found["rod_length"] = length
    if not values.has("material"):
        return found
    material = values.material("material")
    found["season_change"] = length * wood.length_strain(material, seasons.winter, seasons.summer)
    found["price"] = price_of(prices, values)
    bar = section(values)
    if bar is None:
        return found
    line = material["density"].value * bar.area
    found |= {"rod_line": line, "rod_wave": figures["wave_time"]}
    return found | span_facts(pull, length, line, figures["EI"], figures.get("EI_sag"))


def stack(parts: Sequence[TrainPart], prices: Sequence[Price] = ()) -> dict[str, float]:
    """Space (m) that these rods take side by side in one layer, where their sections are given, and their price."""
    found = {"stack_price": float(sum(price_of(prices, part.values) for part in parts))}
    sizes = [_sides(part) for part in parts]
    known = [size for size in sizes if size is not None]
    if not known or len(known) < len(sizes):
        return found
    breadth = sum(along for along, _ in known) + STACK_GAP * (len(known) - 1)
    return found | {"stack_breadth": breadth, "stack_height": max(other for _, other in known)}


def _sides(part: TrainPart) -> tuple[float, float] | None:
    """A rod's side along the row of its neighbours, and the other."""
    values = part.values
    if section(values) is None:
        return None
    fields = {"rectangle": ("width", "thickness"), "square": ("width", "width")}
    names = fields.get(values.text("section"), ("diameter", "diameter"))
    thin, broad = sorted(values.number(name) for name in names)
    return (thin, broad) if on_edge(values) else (broad, thin)
