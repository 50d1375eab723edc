"""What the way to the side costs at the key: twist and mass of the roller, splay of a rod, note by note."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import sound_trains
from keyaction.models.instrument.board import BoardSizes
from keyaction.models.instrument.layout import Layout
from keyaction.models.instrument.overhang import overhanging_sag
from keyaction.models.instrument.place import Place
from keyaction.models.instrument.shaft import sag
from keyaction.models.parts.bending import slender
from keyaction.models.parts.common import section
from keyaction.models.units.names import STANDARD_GRAVITY
from keyaction.sim.figures.budgets import compliance_budget
from keyaction.sim.figures.columns import QUANTITIES, of_verdict
from keyaction.sim.figures.sketch import rigid
from keyaction.sim.run.standings import Standing, standings


@dataclass(frozen=True)
class Laid:
    """One note as it is laid out, with what is felt of it.

    Attributes
    ----------
    note : int
    place : Place
    row : int, optional
        Of its roller, from 0.
    standing : Standing
        Its train, verdict and slow press.
    twist : float
        Of the roller at the pluck, rad; NaN without a roller, or where nothing plucks.
    lost : float
        Key travel that the twist's rise from rest takes up before the pluck, m.
    sag : float
        Most that the roller's shaft gives under both pulls at the pluck and its own weight, m.
    carried : float
        Effective mass at the key of the part that carries the motion sideways, kg.
    mass : float
        Effective mass at the key of the whole train, kg.
    pluck : float
        Pluck force, N; NaN where nothing plucks.
    splay : float
        Angle of the slanting rod or lever out of the plane of the side view, rad; NaN where none slants.
    lever : bool
        Whether what slants is a lever, whose rods run straight: then nothing pulls sideways.
    """

    note: int
    place: Place
    row: int | None
    standing: Standing
    twist: float
    lost: float
    sag: float
    carried: float
    mass: float
    pluck: float
    splay: float
    lever: bool


class NoLayout(ValueError):
    """A case that says nothing of where its keys and pallets stand."""


def layout_of(case: Case) -> Layout:
    """The layout of a case.

    Raises
    ------
    NoLayout
        If it has none.
    """
    if case.layout is None:
        raise NoLayout(f"{case.path.name}: says nothing of where keys and pallets stand; give it a table [layout]")
    return case.layout


def carrier(case: Case, layout: Layout) -> str:
    """Name of the part that carries the motion from the key's line to the pallet's; empty if none does."""
    if layout.splayed:
        return layout.splayed
    return next((part.name for part in case.parts if part.kind == "roller"), "")


def lay(case: Case, notes: Sequence[int], jobs: int = 0) -> list[Laid]:
    """Figures of notes as they are laid out.

    Parameters
    ----------
    case : Case
    notes : sequence of int
    jobs : int
        Threads; 0 means one per core.

    Returns
    -------
    list of Laid
        Of every note whose train can be built, in the order given.

    Raises
    ------
    NoLayout
        If the case has none.
    keyaction.TrainProblem
        With every defect of its fields.
    """
    layout = layout_of(case)
    name = carrier(case, layout)
    stand = standings(sound_trains(case, notes), case.strokes, jobs)
    return [_laid(layout, name, note, one) for note, one in stand.items()]


def _laid(layout: Layout, name: str, note: int, standing: Standing) -> Laid:
    masses = rigid(standing.train).masses
    rollers = layout.board.rollers if layout.board else {}
    twist, lost = _twisted(standing, name)
    return Laid(
        note,
        layout.places[note],
        rollers[note].row if note in rollers else None,
        standing,
        twist,
        lost,
        _sag(standing, name, layout.board.sizes) if layout.board and name else math.nan,
        masses.get(name, math.nan),
        sum(masses.values()),
        _pluck(standing),
        layout.figures.get(f"{layout.splayed}.splay", {}).get(note, math.nan),
        f"{layout.splayed}.in_arm" in layout.figures,
    )


def _twisted(standing: Standing, roller: str) -> tuple[float, float]:
    """Twist of the roller at the pluck (rad), and the key travel that its rise from rest takes up (m)."""
    pressed = standing.pressed
    if pressed is None:
        return math.nan, math.nan
    shafts = [link.element for link in pressed.kinematics.links if link.kind == "twist" and link.element.part == roller]
    if not shafts:
        return math.nan, math.nan
    twist = pressed.at_pluck(shafts[0].stretch)
    return twist, compliance_budget(pressed).get(f"{roller} twist", math.nan)


def _sag(standing: Standing, roller: str, sizes: BoardSizes) -> float:
    """How far the shaft gives, m; NaN where it has no section, or nothing plucks."""
    pressed, values = standing.pressed, standing.train.part(roller).values
    bar = section(values) if values.has("section", "material", "length") else None
    if pressed is None or bar is None:
        return math.nan
    bodies = pressed.kinematics.layout.bodies
    pulls = [
        pressed.at_pluck(link.element.force)
        for link in pressed.kinematics.links
        if link.kind != "twist" and roller in (bodies[link.upstream].part, bodies[link.downstream].part)
    ]
    if len(pulls) != 2 or not all(map(math.isfinite, pulls)):
        return math.nan
    down = [1.0 if edge == "below" else -1.0 for edge in (sizes.keys, sizes.pallets)]
    stiff, density = slender(values, "material") * bar.weak_axis, values.of("material", "density")
    weight = density * bar.area * STANDARD_GRAVITY if sizes.stands == "upright" else 0.0
    length, give = values.number("length"), overhanging_sag if sizes.inside else sag
    if sizes.inside and length - 2 * sizes.inset < sizes.bearing:
        return math.nan  # one bearing in the middle holds no line
    return give(down[0] * pulls[0], down[1] * pulls[1], length, sizes.inset, stiff, weight=weight).most


def _pluck(standing: Standing) -> float:
    if standing.pressed is None:
        return math.nan
    found = {"pluck_force": float(QUANTITIES["pluck_force"].compute(standing.pressed))}
    return of_verdict(found, standing.verdict)["pluck_force"]
