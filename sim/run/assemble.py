"""The result of a run: labelled arrays over the notes, in memory as in the file."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.notes import note_name
from keyaction.sim.figures.columns import OVER_COMPASS, QUANTITIES
from keyaction.sim.figures.registry import Quantity
from keyaction.sim.files.labelled import Array, Result, Variable
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.run.note import NoteResult
from keyaction.sim.run.pallets import pallet_variables

ACCOUNTS = ("finger", "wind", "friction", "damping", "stored", "residual")


def _table(results: Sequence[NoteResult], names: Sequence[Any], pick: Any) -> Array:
    """A float array (note, name); NaN where a note lacks it."""
    return np.array([[pick(r).get(name, np.nan) for name in names] for r in results], dtype=float).reshape(
        len(results), len(names)
    )


def _names(results: Sequence[NoteResult], pick: Any) -> list[Any]:
    """All names in the order of the note that has most, then any others."""
    longest = max((list(pick(r)) for r in results), key=len, default=[])
    rest = [name for r in results for name in pick(r) if name not in longest]
    return list(dict.fromkeys([*longest, *rest]))


def _texts(values: Sequence[str]) -> Array:
    return np.array(values, dtype=object)


def _curve(results: Sequence[NoteResult], name: str) -> Array:
    shape = next(r.curves[name].shape for r in results if name in r.curves)
    return np.array([r.curves.get(name, np.full(shape, np.nan)) for r in results])


CURVES = {
    "feel_down_travel": (("note", "sample"), "m", "key travel, slow press down"),
    "feel_down_force": (("note", "sample"), "N", "key force, slow press down"),
    "feel_up_travel": (("note", "sample"), "m", "key travel, slow release"),
    "feel_up_force": (("note", "sample"), "N", "key force, slow release"),
    "alone_down_travel": (("note", "sample"), "m", "key travel, slow press down, no coupler drawn"),
    "alone_down_force": (("note", "sample"), "N", "key force, slow press down, no coupler drawn"),
    "alone_up_travel": (("note", "sample"), "m", "key travel, slow release, no coupler drawn"),
    "alone_up_force": (("note", "sample"), "N", "key force, slow release, no coupler drawn"),
    "feel_speed_travel": (("note", "speed", "sample"), "m", "key travel at speed"),
    "feel_speed_force": (("note", "speed", "sample"), "N", "key force at speed"),
    "finger_travel": (("note", "time"), "m", "way of the finger"),
    "key_travel": (("note", "time"), "m", "key travel"),
    "key_force": (("note", "time"), "N", "key force"),
    "pallet_lift": (("note", "time"), "m", "lift of the pallet at the eye"),
    "seat_gap": (("note", "time"), "m", "gap under the pallet at the eye"),
    "groove_pressure": (("note", "time"), "Pa", "pressure in the groove"),
    "flow_in": (("note", "time"), "m^3/s", "flow into the groove"),
}
"""Axes, unit and heading of every kept curve."""


def _curve_variables(results: Sequence[NoteResult], case: Case) -> dict[str, Variable]:
    played = [r for r in results if r.ok]
    if not played:
        return {}
    found: dict[str, Variable] = {"time": Variable(("time",), played[0].curves["time"], "s", "time from the press")}
    samples = played[0].curves["feel_down_travel"].shape[-1]
    found["sample"] = Variable(("sample",), np.arange(samples), "", "sample along the feel curve")
    found["speed"] = Variable(("speed",), np.array(case.strokes.speeds), "m/s", "speed of the press")
    for name, (dims, unit, label) in CURVES.items():
        if any(name in r.curves for r in played):
            found[name] = Variable(dims, _curve(results, name).astype(np.float32), unit, label)
    return found


def _moving_variables(results: Sequence[NoteResult]) -> dict[str, Variable]:
    """What moves and what carries: whose each body and link is, the bodies' motions and the links' forces."""
    bodies = list({body.title: body for r in results for body in r.bodies}.values())
    links = list({link.title: link for r in results for link in r.links}.values())

    def told(axis: str, values: Sequence[str], label: str) -> Variable:
        return Variable((axis,), _texts(values), "", label)

    found = {
        "body": told("body", [b.title for b in bodies], "moving body"),
        "body_part": told("body", [b.part for b in bodies], "part that it is of"),
        "body_piece": told("body", [b.piece for b in bodies], "which body of its part"),
        "body_number": Variable(
            ("body",),
            np.array([b.number for b in bodies], dtype=np.int64),
            "",
            "number of a mass along a rod in pieces, else 0",
        ),
        "body_unit": told("body", [b.unit for b in bodies], "SI unit of its motion"),
        "link": told("link", [e.title for e in links], "rod or shaft that carries the motion on"),
        "link_part": told("link", [e.part for e in links], "part that it is of"),
        "link_place": told("link", [e.place for e in links], "where on its part"),
        "link_kind": told("link", [e.kind for e in links], "rod, bar (between masses of a rod) or twist (of a shaft)"),
    }
    joins = {link.title: join for r in results for link, join in zip(r.links, r.joins, strict=False)}
    if joins:
        ends = [joins.get(e.title, ("", "")) for e in links]
        found["link_from"] = told("link", [start for start, _ in ends], "body from which the motion comes")
        found["link_to"] = told("link", [end for _, end in ends], "body that is moved")
    if not any(r.ok for r in results):
        return found
    return found | {
        "motion": Variable(
            ("note", "body", "time"),
            _along(results, "motion", [b.title for b in bodies], lambda r: [b.title for b in r.bodies]),
            "",
            "motion from rest, standard stroke; units as in body_unit",
        ),
        "link_force": Variable(
            ("note", "link", "time"),
            _along(results, "link_force", [e.title for e in links], lambda r: [e.title for e in r.links]),
            "",
            "pull, push or torque, standard stroke; N, of a shaft N*m",
        ),
    }


def _along(results: Sequence[NoteResult], name: str, titles: Sequence[str], own: Any) -> Array:
    """A curve (note, title, time) put together from notes that may have other titles each."""
    samples = next(r.curves[name].shape[-1] for r in results if name in r.curves)
    table = np.full((len(results), len(titles), samples), np.nan, dtype=np.float32)
    place = {title: i for i, title in enumerate(titles)}
    for row, result in zip(table, results, strict=True):
        for title, course in zip(own(result), result.curves.get(name, ()), strict=False):
            row[place[title]] = course
    return table


def _budget_variables(results: Sequence[NoteResult]) -> dict[str, Variable]:
    gave, parts = _names(results, lambda r: r.compliance), _names(results, lambda r: r.masses)
    owner = {name: part for r in results for name, part in r.owners.items()}
    return {
        "give": Variable(("give",), _texts(gave), "", "what gave way before the pluck"),
        "give_part": Variable(("give",), _texts([owner.get(name, "") for name in gave]), "", "part that it is of"),
        "part": Variable(("part",), _texts(parts), "", "part of the train"),
        "compliance_budget": Variable(
            ("note", "give"),
            _table(results, gave, lambda r: r.compliance),
            "m",
            "key travel taken up before the pluck",
            "Key travel that each part's giving way took up before the pluck; adds up to the pluck point.",
        ),
        "mass_budget": Variable(
            ("note", "part"),
            _table(results, parts, lambda r: r.masses),
            "kg",
            "effective mass at the key front",
            "Inertia of each part referred to the key front, nothing giving way.",
        ),
    }


def _mode_variables(results: Sequence[NoteResult]) -> dict[str, Variable]:
    bodies = _names(results, lambda r: dict.fromkeys(body.title for body in r.bodies))
    n = len(bodies)
    same = [r.ok and [body.title for body in r.bodies] == bodies for r in results]
    empty = np.full(n, np.nan)
    return {
        "mode": Variable(("mode",), np.arange(1, n + 1), "", "natural mode, slowest first"),
        "mode_frequency": Variable(
            ("note", "mode"),
            np.array([r.frequencies if ok else empty for r, ok in zip(results, same, strict=True)]),
            "Hz",
            "natural frequency, pallet seated",
        ),
        "mode_shape": Variable(
            ("note", "mode", "body"),
            np.array([r.shapes if ok else np.full((n, n), np.nan) for r, ok in zip(results, same, strict=True)]),
            "",
            "shape of the mode, largest entry 1",
        ),
        "body_ratio": Variable(
            ("note", "body"),
            _table(results, bodies, lambda r: dict(zip((b.title for b in r.bodies), r.ratios, strict=True))),
            "1/m",
            "turn of each body per way of the key front, nothing giving way",
        ),
    }


def _played_variables(results: Sequence[NoteResult]) -> dict[str, Variable]:
    names = _names(results, lambda r: {one[0]: one for one in r.played})
    by_note = [{one[0]: one for one in r.played} for r in results]
    audits = np.array(
        [[own[name][3] if name in own else (np.nan,) * len(ACCOUNTS) for name in names] for own in by_note]
    )
    audits = audits.reshape(len(results), len(names), len(ACCOUNTS))
    methods = np.array([[own[name][1] if name in own else "" for name in names] for own in by_note], dtype=object)
    counts = np.array([[own[name][2] if name in own else 0 for name in names] for own in by_note], dtype=np.int64)
    return {
        "played": Variable(("played",), _texts(names), "", "what was played"),
        "account": Variable(("account",), _texts(ACCOUNTS), "", "account of work"),
        "energy_audit": Variable(
            ("note", "played", "account"),
            audits,
            "J",
            "work in and where it went",
            "finger + wind = friction + damping + stored + residual, from the start to the end of what was played.",
        ),
        "method": Variable(
            ("note", "played"), methods.reshape(len(results), len(names)), "", "integration method that served"
        ),
        "evaluations": Variable(
            ("note", "played"), counts.reshape(len(results), len(names)), "", "evaluations of the equations"
        ),
    }


def _figure_variables(results: Sequence[NoteResult]) -> dict[str, Variable]:
    known = {(f.part, f.what): f for r in results for f in reversed(r.parameters)}
    ordered = _names(results, lambda r: {(f.part, f.what): f for f in r.parameters})
    figures = [known[one] for one in ordered]

    def told(values: Sequence[str], label: str) -> Variable:
        return Variable(("figure",), _texts(values), "", label)

    return {
        "figure": told(_different([f.title for f in figures]), "parameter of the equations"),
        "figure_part": told([f.part for f in figures], "part that it is of; empty for what all share"),
        "figure_what": told([f.what for f in figures], "what it is of its part"),
        "figure_role": told([f.role for f in figures], "role of the part"),
        "figure_unit": told([f.unit for f in figures], "SI unit of the figure"),
        "figure_origin": told([f.origin for f in figures], "where it comes from"),
        "figures": Variable(
            ("note", "figure"),
            _table(results, ordered, lambda r: {(f.part, f.what): f.value for f in r.parameters}),
            "",
            "parameters of the equations, SI units as in figure_unit",
        ),
    }


def _different(titles: Sequence[str]) -> list[str]:
    """Titles of which none is another's: the labels of an axis."""
    found: list[str] = []
    for title in titles:
        usual, number = title, 2
        while title in found:
            title, number = f"{usual}_{number}", number + 1
        found.append(title)
    return found


def _over_notes(one: Quantity, values: Array) -> Variable:
    return Variable(("note",), values, one.unit, one.label, one.definition)


def assemble(case: Case, results: Sequence[NoteResult], about: Mapping[str, str]) -> Result:
    """Put the notes together.

    Parameters
    ----------
    case : Case
    results : sequence of NoteResult
        In any order.
    about : mapping
        Texts to travel with the result.
    """
    results = sorted(results, key=lambda r: r.note)
    numbers = np.array([r.note for r in results])
    variables: dict[str, Variable] = {
        "note": Variable(("note",), _texts([note_name(int(n), case.naming) for n in numbers]), "", "note"),
        "semitone": Variable(("note",), numbers, "", "semitone number, C4 = 60"),
        "status": Variable(
            ("note",), _texts([r.status for r in results]), "", "ok, or why the note failed and what to do"
        ),
        "verdict": Variable(
            ("note",),
            _texts([str(r.verdict) for r in results]),
            "",
            "what becomes of the note; a figure that such a note does not have is NaN",
        ),
        "repetition_limit": Variable(
            ("note",), _texts([r.limit for r in results]), "", "what limits the repetition rate"
        ),
        "warning": Variable(("note",), _texts(["; ".join(r.warnings) for r in results]), "", "warnings of the note"),
    }
    figures = {name: np.array([r.quantities.get(name, np.nan) for r in results], dtype=float) for name in QUANTITIES}
    variables |= {name: _over_notes(one, figures[name]) for name, one in QUANTITIES.items()}
    variables |= {name: _over_notes(one, one.compute(numbers, figures)) for name, one in OVER_COMPASS.items()}
    for more in (
        _budget_variables(results),
        _mode_variables(results),
        _played_variables(results),
        _figure_variables(results),
        _curve_variables(results, case),
        _moving_variables(results),
        pallet_variables([r.pallets for r in results], [r.curves for r in results], [r.coupled for r in results]),
    ):
        variables |= more
    return Result(variables, about)


def tolerances_text(tolerances: Tolerances) -> str:
    """Tolerances as JSON."""
    return json.dumps(tolerances.__dict__)
