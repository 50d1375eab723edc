"""How parts look: one colour and hatching for each, by its kind and its place in the case's train, in every picture."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

from keyaction.cases.action.train import kinds_by_name
from keyaction.plots.style import reading
from keyaction.plots.style.pens import BLUE, GREEN, ORANGE, PURPLE, SKY, VERMILLION, YELLOW, Dash
from keyaction.plots.style.trains import joined_trains, roles
from keyaction.sim.files.labelled import Result

_MORE, _PALE = {"ends": "...", "bending": "||"}, 0.5
"""A rod's ends and a part's bending: the part's hatching with more to it, its colour half way to white."""
_NO_PART = "#b9b9b9"
_PLAIN = ("", "///", "xxx", "---")
_LOOKS = {
    "key": ((SKY,), _PLAIN),
    "tracker": ((GREEN, VERMILLION), _PLAIN),
    "sticker": ((VERMILLION, GREEN), ("\\\\\\", "|||", "+++")),
    "pull-down": ((SKY,), ("\\\\\\", "|||", "+++")),
    "square": ((YELLOW, ORANGE), _PLAIN),
    "backfall": ((ORANGE, YELLOW), ("\\\\\\", "|||", "+++")),
    "roller": ((PURPLE,), _PLAIN),
    "pallet": ((BLUE,), _PLAIN),
}
"""Colours and hatchings of each kind: its parts take them in turn. Light and dark alternate along a usual train."""
_OTHER = ((PURPLE, BLUE, YELLOW, VERMILLION, SKY, GREEN, ORANGE), ("ooo", "***", "xx--"))
"""Parts of other kinds, and those that no case tells of."""
_BY_ROLE = {"key": "key", "pallet": "pallet", "rod": "tracker", "lever": "backfall"}
"""Kinds as which parts are drawn of which only the role is known."""
_DASHES: tuple[Dash, ...] = ((0, (7, 2)), (0, (4, 1.5, 1, 1.5)), (0, (1.5, 1.2)), (0, (8, 1.5, 1.5, 1.5, 1.5, 1.5)))


@dataclass(frozen=True)
class Fill:
    """Colour and hatching of an area."""

    color: str
    hatch: str


def part_fills(result: Result) -> dict[str, Fill]:
    """How every part of a result looks.

    The look hangs on the part's kind and on how many of that kind stand before it in the case that the result carries,
    so that a run of some notes, a run of all and a comparison of one case agree. Parts of trains that couplers move
    look as the like of the played train, hatched in their turn. Parts that no case tells of follow.
    """
    kinds = _kinds(result.about.get("case_text", ""))
    driven = _driven(result, kinds)
    named = {**kinds} | {name: driven.get(name, "") for name in reading.parts(result) if name not in kinds}
    count: dict[str, int] = {}
    found = {}
    for name, kind in named.items():
        group = kind if kind in _LOOKS else ""
        found[name] = _look(group, count.setdefault(group, 0))
        count[group] += 1
    return found


def _driven(result: Result, kinds: Mapping[str, str]) -> dict[str, str]:
    """Kind of every part of the trains that couplers move: as that of the same name in the case, else by its role."""
    known = roles(result)
    return {
        part: kinds.get(one.bare(part), _BY_ROLE.get(known.get(part, ""), ""))
        for one in joined_trains(result)
        for part in one.parts
        if part not in kinds
    }


def _look(kind: str, place: int) -> Fill:
    colors, hatches = _LOOKS.get(kind, _OTHER)
    looks = list(product(hatches, colors))
    hatch, color = looks[place % len(looks)]
    return Fill(color, hatch)


@lru_cache(maxsize=8)
def _kinds(text: str) -> Mapping[str, str]:
    """Kind of every part of a case by name, in train order; empty where the text is no case."""
    try:
        return kinds_by_name(tomllib.loads(text).get("train"))
    except tomllib.TOMLDecodeError:
        return {}


def share_fill(result: Result, share: str, fills: Mapping[str, Fill]) -> Fill:
    """How a share of a budget is drawn.

    Parameters
    ----------
    result : Result
    share : str
        A part, or a share of its giving way: ``"drop ends"``, ``"roller twist"``, ``"key bending"``, ``"lost motion"``.
    fills : mapping of part to Fill
        From `part_fills`.
    """
    part = reading.owner(result, share)
    if part not in fills:
        return Fill(_NO_PART, "" if share == "lost motion" else "xxx")
    look = fills[part]
    more = _MORE.get(share.removeprefix(f"{part} "))
    return Fill(_paler(look.color), look.hatch + more) if more else look


def _paler(color: str) -> str:
    red, green, blue = (round(255 - _PALE * (255 - int(color[i : i + 2], 16))) for i in (1, 3, 5))
    return f"#{red:02x}{green:02x}{blue:02x}"


def part_dash(fills: Mapping[str, Fill], part: str) -> Dash:
    """The dashes of a part's line: no two that share a colour have the same, as long as there are no more than four."""
    alike = [name for name, look in fills.items() if look.color == fills[part].color]
    shift = sorted({look.color for look in fills.values()}).index(fills[part].color)
    return _DASHES[(alike.index(part) + shift) % len(_DASHES)]
