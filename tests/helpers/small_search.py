"""A small search of the short case, and of the direct pin action, whose figures can be computed by hand."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from kinds_by_hand import Hand, train_of
from kinds_laid import laid
from short_case import QUICK, write_case

from keyaction.cases.study.search import Search
from keyaction.sim.search.load import load_search
from keyaction.sim.sweep.designs import Recipe

SPRING = {"field": "pallet-spring.force", "low": "1.6 N", "high": "2.8 N", "levels": 3, "name": "spring"}
ARM = {"field": "key.arm", "low": "104 mm", "high": "120 mm", "levels": 2, "name": "arm"}
WIRE = {"field": "pull-down.diameter", "low": "1 mm", "high": "2 mm"}
TIMES = {"field": "pallet-spring.force", "scale": [0.9, 1.2], "name": "spring"}


def data(case: str, *vary: dict[str, Any], notes: str = "C4", **search: Any) -> dict[str, Any]:
    """Tables of a search."""
    return {"format": 1, "study": {"case": case, "notes": notes}, "search": search, "vary": list(vary)}


def pin_search(*vary: dict[str, Any], **search: Any) -> tuple[Search, Recipe]:
    """A search of the direct pin action at C4."""
    return load_search(Path("options"), data("direct-pin", *(vary or (SPRING, ARM)), **search))


def short_search(folder: Path, *vary: dict[str, Any], **search: Any) -> tuple[Search, Recipe]:
    """A search of the short case in a folder, for its light pluck and a pallet that closes well."""
    if not (folder / "short.toml").exists():
        write_case(folder, more=QUICK)
    given = {"aims": ["pluck_force", "closing_force"], "limits": ["none"], "generations": 3, "designs": 8} | search
    return load_search(folder / "small.toml", data("short.toml", *(vary or (WIRE, TIMES)), **given))


@lru_cache(maxsize=1)
def _lengths() -> dict[str, dict[str, float]]:
    return laid("direct-pin", 0, 0.0)


def by_hand(spring: float, arm: float) -> tuple[float, float]:
    """Pluck force and closing force at zero wind of the direct pin action at C4, N."""
    parts = [dict(part) for part in train_of("direct-pin", "C4", _lengths())]
    for part in parts:
        part |= {"force": spring} if part["kind"] == "spring" else {"arm": arm} if part["kind"] == "key" else {}
    hand = Hand(tuple(parts))
    return hand.pluck()[0], (hand.spring[0] - hand.weight[1]) / hand.part("pallet")["eye"]


def grid_by_hand(springs: np.ndarray, arms: np.ndarray) -> np.ndarray:
    """(springs x arms, 2) of those, the arms running fastest."""
    return np.array([by_hand(float(spring), float(arm)) for spring in springs for arm in arms])
