"""Reading a search: from the tables of a study file, or from the file itself."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from keyaction.cases.study.find import find_study
from keyaction.cases.study.search import COST, EVENNESS, Known, Search, read_search
from keyaction.cases.text.defects import CaseProblem, Defect
from keyaction.cases.text.load import load_toml
from keyaction.cases.tuning.targets import FIELDS as TARGETS
from keyaction.models.units.quantity import format_value
from keyaction.sim.figures.columns import QUANTITIES, shown_in
from keyaction.sim.lanes.evaluate import available
from keyaction.sim.search.prices import NO_RODS, prices_of, rods_of, unpriced
from keyaction.sim.search.scores import quantities_of
from keyaction.sim.sweep.designs import Recipe, recipe

_LIMITS = {
    "closing": ("closing_force", ">="),
    "return_time": ("release_delay", "<="),
    "repetition": ("repetition_rate", ">="),
}
"""What `tune` sees to, by the quantities that hold it."""


def usual_aims() -> list[str]:
    """What is wanted where nothing is said: a light touch that repeats fast."""
    return [one.name for one in shown_in("front")]


def usual_limits() -> list[str]:
    """Limits that hold unless others are given: those that `tune` keeps."""
    found = []
    for field_ in TARGETS:
        if field_.name in _LIMITS:
            name, sign = _LIMITS[field_.name]
            found.append(f"{name} {sign} {format_value(float(str(field_.default)), field_.unit, 'si')}")
    return found


def known() -> dict[str, Known]:
    """All that may be wanted of any case."""
    found = {name: Known(QUANTITIES[name].unit, QUANTITIES[name].sense == "more") for name in available()}
    return {**found, EVENNESS: Known(""), COST: Known("")}


def load_search(path: Path, data: Mapping[str, Any]) -> tuple[Search, Recipe]:
    """Read and check a search, with what its designs are made from.

    Raises
    ------
    CaseProblem
        With every defect that is found.
    """
    search = read_search(path, data, known(), usual_limits(), usual_aims())
    made = recipe_of(search)
    if any(one.name == COST for one in search.figures()):
        told = unpriced(search, made, prices_of(search)) if rods_of(search) else [NO_RODS]
        if told:
            raise CaseProblem(path, [Defect(path.name, "[search]", "prices", "", text) for text in told])
    return search, made


def read_study(path_or_name: str | Path) -> Search:
    """Read and check the search that a study file asks for, or a study that ships with the program.

    Raises
    ------
    CaseProblem
        With every defect that is found.
    """
    path = find_study(path_or_name)
    _, data = load_toml(path)
    if "study" not in data:
        told = "no study: its [study] table names the case, and [[vary]] tables say what may vary of it"
        raise CaseProblem(path, [Defect(path.name, "", "", "", told)])
    return load_search(path, data)[0]


def recipe_of(search: Search) -> Recipe:
    """What the designs of a search are made from."""
    return recipe(search.case, search.notes, search.inputs, quantities_of(search))
