"""Guides and combs of a rod: what it rubs on there, and the spans that they leave between them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from keyaction.models.fields.fields import Field, table
from keyaction.models.fields.values import Values, in_unit
from keyaction.models.instrument import splay
from keyaction.models.many import maths
from keyaction.models.parts.common import GRAVITY

_IN_GUIDES = "cloth-on-pin"
"""Surfaces in a guide unless the case says a coefficient: bushed guides, common practice."""
MOST_STATIONS = 60
"""Guides on one rod: on the longest that is allowed, one every 300 mm or so."""
MOST_BENDS = math.radians(30)
"""Sum of bends beyond which the pull at the key is more than 2 % off a capstan's, in cloth."""
APART = 0.005
"""m between two guides below which they are one (assumed: a comb is some millimetres thick)."""

_BREAKAWAY = Field(
    "breakaway",
    "force that moves the rod through its guides, apart from its weight and its pull",
    unit="N",
    low=0.0,
    high=10.0,
    usual=(0.0, 0.3),
    source="common practice",
)
_ANGLE = Field(
    "angle",
    "sum of the small bends at the guides, apart from those of its stations and those by which they hold a splayed rod",
    unit="rad",
    low=0.0,
    high=1.0,
    usual=(0.0, 0.35),
    source="common practice",
)
_COEFFICIENT = Field(
    "coefficient",
    "friction coefficient at the guides",
    kind="number",
    low=0.0,
    high=2.0,
    usual=(0.05, 0.75),
    source="common practice",
)


def _place(name: str, doc: str) -> Field:
    return Field(name, doc, unit="m", low=0.0, high=20.0, usual=(0.02, 10.0), source="common practice")


_STATIONS = Field(
    "stations",
    "guides and combs along the rod, one by one",
    kind="rows",
    fields=(
        _place("at", "from the rod's end nearer the key"),
        Field(
            "play",
            "room on each side of the rod in it",
            unit="m",
            low=0.0,
            high=0.02,
            usual=(0.0, 0.003),
            source="common practice",
        ),
        Field(
            "angle",
            "bend of the rod there",
            unit="rad",
            low=0.0,
            high=0.8,
            usual=(0.0, 0.1),
            source="common practice",
        ),
        Field("lining", "pair of surfaces there, in place of the guides' coefficient", kind="material"),
    ),
)
_KEEP_CLEAR = Field(
    "keep_clear",
    "stretches of the rod where no guide can stand: posts, beams, other rods",
    kind="rows",
    fields=(
        _place("from", "where it begins, from the rod's end nearer the key"),
        _place("to", "where it ends"),
    ),
)
TABLE = table("guides", "what it rubs on", _BREAKAWAY, _ANGLE, _COEFFICIENT, _STATIONS, _KEEP_CLEAR)
_RUBBING = ("breakaway", "angle", "coefficient")


@dataclass(frozen=True)
class Station:
    """A guide or comb: its place along the rod (m), play on each side (m), bend (rad), friction coefficient."""

    at: float
    play: float
    angle: float
    coefficient: float


def given(values: Values) -> bool:
    """Whether a rod has guides to rub on."""
    return any(values.has(f"guides.{name}") for name in _RUBBING) or values.count_rows("guides.stations") > 0


def carried_weight(values: Values) -> float:
    """Weight (N) that the guides of a rod carry: all of a level rod, the ends' share with it, and none of another."""
    return GRAVITY * values.derived["m"].value if values.text("moves") == "level" else 0.0


def guide_coefficient(values: Values) -> tuple[float, str]:
    """Friction coefficient at a rod's guides, and where it is from: the case, else cloth on a pin."""
    if values.has("guides.coefficient"):
        return values.number("guides.coefficient"), values.origin("guides.coefficient")
    found = values.library.get(_IN_GUIDES)["coefficient"]
    return found.value, f"default: {_IN_GUIDES}: {found.source}"


def stations(values: Values) -> tuple[Station, ...]:
    """The stations of a rod by their places; what they leave out is nothing, or as the guides say."""
    rows = (f"guides.stations.{i}" for i in range(values.count_rows("guides.stations")))
    found = [
        Station(values.number(f"{row}.at"), _or_none(values, f"{row}.play"), _or_none(values, f"{row}.angle"),
                _lined(values, f"{row}.lining")[0])
        for row in rows
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda one: one.at))


def keep_clear(values: Values) -> tuple[tuple[float, float], ...]:
    """Stretches (m) of a rod where no guide can stand, by their places."""
    rows = (f"guides.keep_clear.{i}" for i in range(values.count_rows("guides.keep_clear")))
    return tuple(sorted((values.number(f"{row}.from"), values.number(f"{row}.to")) for row in rows))


def spans_of(values: Values) -> tuple[float, ...]:
    """Distances (m) between the stations of a rod, its ends counted as stations."""
    places = [0.0, *(one.at for one in stations(values)), values.number("length")]
    return tuple(b - a for a, b in pairwise(places))


def resolve(values: Values) -> None:
    """Friction of the guides, and the longest span between the stations."""
    before = len(values.defects)
    _check(values)
    sound = len(values.defects) == before
    if given(values):
        _rubbing(values)
    if sound and values.has("length") and values.count_rows("guides.stations"):
        found = stations(values)
        values.fact("longest_span", maths.largest(spans_of(values)), "m", "longest span between its guides")
        drawn = sum(2 * one.play * one.angle for one in found)
        values.fact("play_lost", drawn, "m", "way that play at the bends may cost", "sum of angle x play on both sides")


def _rubbing(values: Values) -> None:
    coefficient, origin = guide_coefficient(values)
    weight, found = carried_weight(values), stations(values)
    lined, lined_origin = _under_weight(values, found) if found else (coefficient, origin)
    held = "weight x coefficient" if weight else "guides carry a level rod only"
    own = values.fact("F_weight", lined * weight, "N", "friction of its weight on the guides", held)
    gripped = values.number("guides.breakaway") if values.has("guides.breakaway") else 0.0
    values.fact("mu_guides", lined, "", "friction coefficient at the guides", lined_origin)
    values.set(
        "F0",
        gripped + own,
        "N",
        "force that moves the rod through its guides without a pull",
        "break-away and weight x coefficient" if own else "case",
    )
    angle = values.number("guides.angle") if values.has("guides.angle") else 0.0
    bent, how = angle * coefficient, "bend angle x coefficient"
    if found:
        bent += maths.expm1(sum(one.coefficient * one.angle for one in found))
        how = "exp(sum of bend x coefficient) - 1 of its stations, as round a capstan"
    if values.remarks:
        _warn_of_bends(values, angle + sum(one.angle for one in found))
    slant = values.number("splay")
    if slant > 0:
        how = f"({how}) / cos splay + coefficient x tan splay at both ends"
    bent = bent * splay.force_factor(slant) + splay.guide_share(slant, coefficient)
    values.set("mu_bend", bent, "", "friction per pull, from the bends", how)
    values.set("reach", 2e-5, "m", "way within which the guides give before they slip", "assumed")


def _warn_of_bends(values: Values, bends: float) -> None:
    """Bends that together are more than the law holds for."""
    if bends > MOST_BENDS:
        path = "guides.angle" if values.has("guides.angle") else "guides.stations.0.angle"
        told = "the bends of its guides together: friction on the way down comes out too large beyond 30 degrees in all"
        values.odd(path, "rad", told, bends)


def _under_weight(values: Values, found: tuple[Station, ...]) -> tuple[float, str]:
    """Mean coefficient under a level rod's weight: each station carries half of the spans beside it."""
    if not values.has("length") or len(found) == 1:
        return found[0].coefficient, _lined(values, "guides.stations.0.lining")[1]
    places = [0.0, *(one.at for one in found), values.number("length")]
    carried = [(after - before) / 2 for before, after in zip(places, places[2:], strict=False)]
    whole = sum(carried)
    mean = sum(share * one.coefficient for share, one in zip(carried, found, strict=True)) / whole
    origins = {_lined(values, f"guides.stations.{i}.lining")[1] for i in range(len(found))}
    return mean, origins.pop() if len(origins) == 1 else "its stations' linings, by the weight on each"


def _lined(values: Values, path: str) -> tuple[float, str]:
    if values.has(path):
        return values.of(path, "coefficient"), values.source(path, "coefficient")
    return guide_coefficient(values)


def _or_none(values: Values, path: str) -> float:
    return values.number(path) if values.has(path) else 0.0


# -- what cannot be --------------------------------------------------------------------------------------
def _check(values: Values) -> None:
    count = values.count_rows("guides.stations")
    if count > MOST_STATIONS:
        values.defects.append(f"guides.stations: {count} guides on one rod; allowed: up to {MOST_STATIONS}")
    for i in range(count):
        if not values.has(f"guides.stations.{i}.at"):
            values.defects.append(f"guides.stations.{i}.at: missing")
    if not values.has("length"):
        return
    length, clear = values.number("length"), _stretches(values)
    at = {path: values.number(path) for i in range(count) if values.has(path := f"guides.stations.{i}.at")}
    for path, place in at.items():
        if not 0 < place < length:
            values.refuse(path, "m", f"the guide is outside the rod; allowed: above 0 mm, below {_mm(length)}")
        elif values.remarks and any(low < place < high for low, high in clear):
            values.odd(path, "m", "where no guide can stand (keep_clear)")
    by_place = sorted(at.items(), key=lambda one: one[1])
    for (first, a), (second, b) in pairwise(by_place):
        if b - a < APART * (1 - 1e-9):
            told = f"at the place of {first} = {_mm(a)}; allowed: {_mm(APART)} or more apart"
            values.refuse(second, "m", told)


def _stretches(values: Values) -> list[tuple[float, float]]:
    """The stretches to keep clear that are sound; the others are refused."""
    found, length = [], values.number("length")
    for i in range(values.count_rows("guides.keep_clear")):
        ends = [f"guides.keep_clear.{i}.{end}" for end in ("from", "to")]
        lacking = [path for path in ends if not values.has(path)]
        values.defects += [f"{path}: missing" for path in lacking]
        if lacking:
            continue
        low, high = (values.number(path) for path in ends)
        if not low < high:
            values.refuse(ends[1], "m", f"ends before it begins; allowed: above {_mm(low)}")
        elif low >= length:
            values.refuse(ends[0], "m", f"beyond the rod; allowed: below {_mm(length)}")
        else:
            found.append((low, high))
    return found


def _mm(size: float) -> str:
    return in_unit(size, "m")
