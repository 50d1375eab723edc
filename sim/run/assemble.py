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

ACCOUNTS = ("finger", "wind", "friction", "damping", "stored", "residual")


def _table(results: Sequence[NoteResult], names: Sequence[str], pick: Any) -> Array:
    """A float array (note, name); NaN where a note lacks it."""
    return np.array([[pick(r).get(name, np.nan) for name in names] for r in results], dtype=float).reshape(
        len(results), len(names)
    )


def _names(results: Sequence[NoteResult], pick: Any) -> list[str]:
    """All names in the order of the note that has most, then any others."""
    longest = max((list(pick(r)) for r in results), key=len, default=[])
    rest = [name for r in results for name in pick(r) if name not in longest]
    return list(dict.fromkeys([*longest, *rest]))


def _texts(values: Sequence[str]) -> Array:
    return np.array(values, dtype=object)


def _curve(results: Sequence[NoteResult], name: str) -> Array:
    shape = next(r.curves[name].shape for r in results if name in r.curves)
    return np.array([r.curves.get(name, np.full(shape, np.nan)) for r in results])


_CURVES = {
    "feel_down_travel": (("note", "sample"), "m", "key travel, slow press down"),
    "feel_down_force": (("note", "sample"), "N", "key force, slow press down"),
    "feel_up_travel": (("note", "sample"), "m", "key travel, slow release"),
    "feel_up_force": (("note", "sample"), "N", "key force, slow release"),
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


def _curve_variables(results: Sequence[NoteResult], case: Case) -> dict[str, Variable]:
    played = [r for r in results if r.ok]
    if not played:
        return {}
    found: dict[str, Variable] = {"time": Variable(("time",), played[0].curves["time"], "s", "time from the press")}
    samples = played[0].curves["feel_down_travel"].shape[-1]
    found["sample"] = Variable(("sample",), np.arange(samples), "", "sample along the feel curve")
    found["speed"] = Variable(("speed",), np.array(case.strokes.speeds), "m/s", "speed of the press")
    for name in _names(played, lambda r: r.curves):
        if name in _CURVES:
            dims, unit, label = _CURVES[name]
        elif name.startswith("motion_"):
            dims, unit, label = (
                ("note", "time"),
                _motion_unit(played, name[7:]),
                f"motion of {name[7:]} from rest",
            )
        elif name.startswith("force_"):
            twist = name.endswith("-twist")
            dims, unit, label = (
                ("note", "time"),
                "N*m" if twist else "N",
                f"{'torque' if twist else 'force'} in {name[6:]}",
            )
        else:
            continue
        found[name] = Variable(dims, _curve(results, name).astype(np.float32), unit, label)
    return found


def _motion_unit(played: Sequence[NoteResult], body: str) -> str:
    parts = {name.rsplit("-", 1)[0] for name in played[0].bodies if name.rsplit("-", 1)[-1].isdigit()}
    return (
        "m"
        if body.rsplit("-", 1)[0] in parts
        and f"k_piece_{body.rsplit('-', 1)[0].replace('-', '_')}" in played[0].parameters
        else "rad"
    )


def _budget_variables(results: Sequence[NoteResult]) -> dict[str, Variable]:
    gave, parts = _names(results, lambda r: r.compliance), _names(results, lambda r: r.masses)
    return {
        "give": Variable(("give",), _texts(gave), "", "what gave way before the pluck"),
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
    bodies = _names(results, lambda r: dict.fromkeys(r.bodies))
    n = len(bodies)
    same = [r.ok and r.bodies == tuple(bodies) for r in results]
    empty = np.full(n, np.nan)
    return {
        "body": Variable(("body",), _texts(bodies), "", "moving body"),
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
            np.array([r.ratios if ok else empty for r, ok in zip(results, same, strict=True)]),
            "1/m",
            "turn of each body per way of the key front, nothing giving way",
        ),
    }


def _run_variables(results: Sequence[NoteResult]) -> dict[str, Variable]:
    names = _names(results, lambda r: {run[0]: run for run in r.runs})
    by_note = [{run[0]: run for run in r.runs} for r in results]
    audits = np.array(
        [[runs[name][3] if name in runs else (np.nan,) * len(ACCOUNTS) for name in names] for runs in by_note]
    )
    audits = audits.reshape(len(results), len(names), len(ACCOUNTS))
    methods = np.array([[runs[name][1] if name in runs else "" for name in names] for runs in by_note], dtype=object)
    counts = np.array([[runs[name][2] if name in runs else 0 for name in names] for runs in by_note], dtype=np.int64)
    return {
        "run": Variable(("run",), _texts(names), "", "what was played"),
        "account": Variable(("account",), _texts(ACCOUNTS), "", "account of work"),
        "energy_audit": Variable(
            ("note", "run", "account"),
            audits,
            "J",
            "work in and where it went",
            "finger + wind = friction + damping + stored + residual, from the start to the end of each run.",
        ),
        "method": Variable(
            ("note", "run"), methods.reshape(len(results), len(names)), "", "integration method that served"
        ),
        "evaluations": Variable(
            ("note", "run"), counts.reshape(len(results), len(names)), "", "evaluations of the equations"
        ),
    }


def _figure_variables(results: Sequence[NoteResult]) -> dict[str, Variable]:
    names = _names(results, lambda r: r.parameters)
    first = {name: r.parameters[name] for r in results for name in r.parameters}
    return {
        "figure": Variable(("figure",), _texts(names), "", "parameter of the equations"),
        "figure_unit": Variable(("figure",), _texts([first[name][1] for name in names]), "", "SI unit of the figure"),
        "figure_origin": Variable(("figure",), _texts([first[name][2] for name in names]), "", "where it comes from"),
        "figures": Variable(
            ("note", "figure"),
            _table(results, names, lambda r: {k: v[0] for k, v in r.parameters.items()}),
            "",
            "parameters of the equations, SI units as in figure_unit",
        ),
    }


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
        "repetition_limit": Variable(
            ("note",), _texts([r.limit for r in results]), "", "what limits the repetition rate"
        ),
        "warning": Variable(("note",), _texts(["; ".join(r.warnings) for r in results]), "", "warnings of the note"),
    }
    figures = {name: np.array([r.quantities.get(name, np.nan) for r in results], dtype=float) for name in QUANTITIES}
    variables |= {name: _over_notes(one, figures[name]) for name, one in QUANTITIES.items()}
    variables["repetition_judged"] = Variable(
        ("note",),
        np.array([r.judged for r in results]),
        "Hz",
        "repetition rate as judged by SciPy",
        "The repetition rate of a sample, searched again by SciPy where the lanes found it; elsewhere none.",
    )
    variables |= {name: _over_notes(one, one.compute(numbers, figures)) for name, one in OVER_COMPASS.items()}
    for more in (
        _budget_variables(results),
        _mode_variables(results),
        _run_variables(results),
        _figure_variables(results),
        _curve_variables(results, case),
    ):
        variables |= more
    return Result(variables, about)


def tolerances_text(tolerances: Tolerances) -> str:
    """Tolerances as JSON."""
    return json.dumps(tolerances.__dict__)
