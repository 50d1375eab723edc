"""Which of its pallets a figure is of, where a key opens several."""

from __future__ import annotations

from keyaction.sim.figures.pallets import has_pallets, is_coupled
from keyaction.sim.files.labelled import Result

_OF_SEVERAL = {"pluck_point": "its own pallet", "pluck_force": "highest peak"}
"""Figures of a key with several pallets that are not of the same pallet."""


def of_several(result: Result, name: str, heading: str) -> str:
    """The heading of a figure in full, with the pallet that it is of where the key opens several."""
    return f"{' '.join(heading.split())}, {_OF_SEVERAL[name]}" if has_pallets(result) and name in _OF_SEVERAL else ""


def several_note(result: Result) -> str:
    """Which pallet the pluck's place and force are of; empty of keys with one."""
    if not has_pallets(result):
        return ""
    where = "coupler schedule" if is_coupled(result) else "table of the pallets"
    return f" Plucks at: its own pallet; pluck: highest peak of all the key's pallets, see the {where}."
