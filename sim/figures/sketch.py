"""The train of a note as a drawing in text, from the finger down to the wind."""

from __future__ import annotations

import numpy as np

from keyaction.models.train.train import Train, TrainPart
from keyaction.models.units.quantity import System as UnitSystem
from keyaction.models.units.quantity import format_value
from keyaction.sim.figures.kinematics import kinematics

_WIDE = 46


def rigid_ratios(train: Train) -> tuple[dict[str, float], dict[str, float], dict[str, float]]:
    """Of the resting train, nothing giving way: way per key way of every rod, turn per key way of every body
    (1/m), and effective mass at the key of every part (kg)."""
    found = kinematics(train.structure)
    p = np.array(train.vector(train.system()))
    q = np.zeros(len(found.coordinates))
    ways = {link.element: float(way) for link, way in zip(found.links, found.way_ratios(q, p), strict=True)}
    turns = {name: float(turn) for name, turn in zip(found.coordinates, found.ratios(q, p), strict=True)}
    return ways, turns, found.effective_masses(q, p)


def static_pluck(train: Train) -> float:
    """Key force (N) that opens the pallet, by levers alone: wind, spring and weight at the eye times the ratio,
    no friction and no weights of the run."""
    ways, _, _ = rigid_ratios(train)
    figures = train.role("pallet").values.derived
    return (figures["wind_at_eye"].value + figures["closing_no_wind"].value) * list(ways.values())[-1]


def _figures(part: TrainPart, system: UnitSystem) -> str:
    d = {name: item.value for name, item in part.values.derived.items()}

    def show(name: str, unit: str, kind: str | None = None) -> str:
        return format_value(d[name], unit, system, kind=kind)

    if part.role == "key":
        return f"inertia {show('J', 'kg*m^2')}, dip {show('dip', 'm')}"
    if part.role == "rod":
        return f"{show('k', 'N/m')}, {show('m', 'kg')}"
    if part.role == "lever" and "K" in d:
        return f"{show('K', 'N*m/rad')}, {show('r_in', 'm')} : {show('r_out', 'm')}"
    if part.role == "lever":
        return f"{show('r_in', 'm')} : {show('r_out', 'm')}, {show('J', 'kg*m^2')}"
    if part.role == "pallet":
        return f"{show('m', 'kg')}, opening {show('A_slot', 'm^2')}, eye {show('r_eye', 'm')}"
    if part.role == "spring":
        return f"{show('force', 'N')} shut, {show('rate', 'N/m')}"
    if part.role == "groove":
        return f"{show('V', 'm^3')}, toes {show('feet', 'm^2')}"
    return f"{show('p_box', 'Pa')}, air {show('rho_air', 'kg/m^3')}"


def sketch(train: Train, system: UnitSystem = "trade") -> str:
    """A drawing of the train, 80 columns: each body a box, each rod a line, with what it does and weighs.

    The right-hand columns give the way of each rod per 1 mm of key travel, and the effective mass of each
    part at the key front.
    """
    ways, _, masses = rigid_ratios(train)
    lines = [f"{'':{_WIDE + 13}}way per mm   mass at", f"{'  finger':{_WIDE + 13}}of key       the key"]
    for part in train.parts:
        way = next(
            (
                f"{ratio:.3f}"
                for name, ratio in ways.items()
                if name.split("-piece")[0] in (part.name, f"{part.name}-out")
            ),
            "",
        )
        mass = format_value(masses[part.name], "kg", system) if part.name in masses else ""
        if part.role == "rod":
            arrow = {1.0: "v", -1.0: "^", 0.0: ">"}[part.values.derived["down"].value]
            left = f"    {arrow} {part.name} ({part.kind}): {_figures(part, system)}"
            lines += ["    |", _line(left, way, mass), "    |"]
        elif part.role in ("spring", "groove", "box"):
            lines.append(_line(f"    + {part.name}: {_figures(part, system)}", way, mass))
        else:
            lines.append(_line(f"  [ {part.name} ] {_figures(part, system)}", way, mass))
    return "\n".join(line.rstrip() for line in lines)


def _line(left: str, way: str, mass: str) -> str:
    room = _WIDE + 13
    if len(left) <= room:
        return f"{left:{room}}{way:>6}  {mass:>12}"
    return f"{left}\n{'':{room}}{way:>6}  {mass:>12}"
