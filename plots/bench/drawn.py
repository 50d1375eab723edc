"""What is drawn and told of a note on the bench, as plain values in the reader's units."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from keyaction.cases.action.case import Case
from keyaction.models.units.quantity import System, convert, format_value
from keyaction.plots.note.stations import ARRIVED, stations
from keyaction.sim.bench.played import Whole, why_failed
from keyaction.sim.figures.columns import OVER_COMPASS, QUANTITIES, of_verdict
from keyaction.sim.figures.limits import EMPTY, FULL, HALF
from keyaction.sim.figures.play import NotPlayed
from keyaction.sim.figures.registry import Quantity
from keyaction.sim.figures.telling import read_verdict, sentence, why_none
from keyaction.sim.figures.verdict import Verdict
from keyaction.sim.files.labelled import Result
from keyaction.sim.run.note import slow_curves
from keyaction.sim.run.standings import Standing
from keyaction.sim.statics.balance import NoEquilibrium
from keyaction.sim.weighing.weighoff import Weights, weigh_note

Plain = dict[str, Any]
"""What becomes a JSON object; a figure that there is not is None."""
_MARKS = (
    ("lost", "lost_motion", "", "lost motion"),
    ("pluck", "pluck_point", "pluck_force", "pluck"),
    ("follow", "", "follow_through_force", "follow-through"),
    ("dip", "key_dip", "", "dip"),
)
"""Places and forces that are marked on a feel curve: name, travel, force, words."""
_INSTANTS = 240
"""Instants that are kept of the path of a stroke."""


def plain(value: float, unit: str, units: System) -> float | None:
    """An SI value in the reader's unit, to seven digits; None where there is none."""
    shown = float(convert(float(value), unit or "1", units)[0])
    return float(f"{shown:.7g}") if math.isfinite(shown) else None


def plains(values: ArrayLike, unit: str, units: System) -> list[float | None]:
    """The same of many."""
    shown = convert(np.asarray(values, dtype=float), unit or "1", units)[0]
    return [float(f"{one:.5g}") if math.isfinite(one) else None for one in shown.tolist()]


def unit_of(unit: str, units: System) -> str:
    """The reader's unit, as people write it."""
    return convert(0.0, unit or "1", units)[1]


def told(verdict: Verdict, failed: str = "") -> Plain:
    """A verdict; `failed` is why the note cannot be played, which no verdict of a slow press makes good."""
    found = {"fate": verdict.fate.name, "sentence": sentence(verdict), "sound": verdict.sound}
    if not failed:
        return found
    why = f"Its stroke cannot be played: {failed.removeprefix('standard stroke: ')}."
    words = f"{why} Pressed slowly: {found['sentence']}" if verdict.sound else f"{found['sentence']} {why}"
    return {**found, "sentence": words, "sound": False, "failed": failed}


def quantities(units: System) -> dict[str, Plain]:
    """Every quantity: its words, its unit, what it means."""
    return {
        name: {
            "label": one.label,
            "unit": "%" if one.percent else unit_of(one.unit, units),
            "places": one.places,
            "definition": one.definition,
            "sense": one.sense,
            "felt": one.felt,
        }
        for name, one in [*QUANTITIES.items(), *OVER_COMPASS.items()]
    }


# -- the slow press ----------------------------------------------------------------------------------------------
def feel(standing: Standing, units: System) -> Plain:
    """The feel curve of a note with what is marked on it; no curve where its press cannot be followed."""
    found: Plain = {
        "verdict": told(standing.verdict),
        "x": {"label": "key travel", "unit": unit_of("m", units)},
        "y": {"label": "key force", "unit": unit_of("N", units)},
        "down": [],
        "up": [],
        "marks": [],
    }
    if standing.pressed is None:
        return found
    curves = slow_curves(standing.pressed)
    for side in ("down", "up"):
        ways = plains(curves[f"feel_{side}_travel"], "m", units)
        forces = plains(curves[f"feel_{side}_force"], "N", units)
        found[side] = [[x, y] for x, y in zip(ways, forces, strict=True) if x is not None and y is not None]
    found["marks"] = list(_marks(standing, units))
    return found


def _marks(standing: Standing, units: System) -> Iterator[Plain]:
    names = {name for _, *pair, _ in _MARKS for name in pair if name}
    figures = of_verdict({one: QUANTITIES[one].compute(standing.pressed) for one in names}, standing.verdict)
    for name, at, force, words in _MARKS:
        given = [(one, figures[one]) for one in (at, force) if one]
        if all(math.isfinite(value) for _, value in given):
            text = ", ".join(format_value(value, QUANTITIES[one].unit, units) for one, value in given)
            yield {
                "name": name,
                "at": plain(figures[at], "m", units) if at else None,
                "force": plain(figures[force], "N", units) if force else None,
                "text": f"{words} {text}",
            }


# -- everything of a note ----------------------------------------------------------------------------------------
def figures(result: Result, units: System, pressed: Mapping[str, float]) -> Plain:
    """All that `keyaction run` says of the only note of a result: figures, budgets, the path of its stroke.

    Of a note that cannot be played the figures are those that are `pressed`, told by its slow press.
    """
    status, verdict = str(result["status"][0]), read_verdict(str(result["verdict"][0]))
    failed = "" if status == "ok" else why_failed(status)
    values = {name: float(result[name][0]) for name in QUANTITIES} | (dict(pressed) if failed else {})
    return {
        "verdict": told(verdict, failed),
        "figures": [_figure(one, values[name], verdict, failed, units) for name, one in QUANTITIES.items()],
        "limit": str(result["repetition_limit"][0]),
        "giveway": _shares(result, "compliance_budget", "give", "m", units),
        "masses": _shares(result, "mass_budget", "part", "kg", units),
        "path": _path(result, units),
    }


def _figure(one: Quantity, value: float, verdict: Verdict, failed: str, units: System) -> Plain:
    there = math.isfinite(value)
    return {
        "name": one.name,
        "label": one.label,
        "value": plain(value, one.unit, units),
        "text": format_value(value, one.unit or "1", units) if there else "-",
        "unit": unit_of(one.unit, units),
        "why": "" if there else failed or why_none(one.name, value, verdict),
    }


def _shares(result: Result, name: str, axis: str, unit: str, units: System) -> list[Plain]:
    """Shares of a budget in the order of the train, each with the part that it belongs to."""
    if name not in result:
        return []
    owners = [str(one) for one in result["give_part"]] if axis == "give" else [str(one) for one in result[axis]]
    rows = zip(result[axis], owners, np.asarray(result[name][0], dtype=float).tolist(), strict=True)
    return [
        {
            "name": str(share),
            "part": owner,
            "value": plain(value, unit, units),
            "text": format_value(value, unit, units),
            "unit": unit_of(unit, units),
        }
        for share, owner, value in rows
        if math.isfinite(value)
    ]


def _path(result: Result, units: System) -> Plain | None:
    """Motions of the stations from finger to groove, as they are at the key, and when press and release arrive."""
    if "time" not in result or str(result["status"][0]) != "ok":
        return None
    try:
        found = stations(result, 0)
    except ValueError as problem:
        return {"none": str(problem)}
    time = np.asarray(result["time"], dtype=float)
    kept = np.unique(np.linspace(0, len(time) - 1, _INSTANTS).astype(int))
    return {
        "time": plains(time[kept], "s", units),
        "unit": unit_of("s", units),
        "way_unit": unit_of("m", units),
        "arrived": f"moved by {format_value(ARRIVED, 'm', units)} as it is at the key; of the groove "
        f"{HALF * 100:.0f} % of the box pressure",
        "full": f"{FULL * 100:.0f} %",
        "silent": f"{EMPTY * 100:.0f} %",
        "stations": [
            {
                "name": one.name,
                "link": one.link,
                "part": one.part,
                "before": one.before,
                "strand": one.strand,
                "groove": one.groove,
                "way": plains(one.way[kept], "1" if one.groove else "m", units),
                "down": plain(one.down, "s", units),
                "up": plain(one.up, "s", units),
                "full": plain(one.full, "s", units),
                "silent": plain(one.silent, "s", units),
            }
            for one in found
        ],
    }


# -- weighed -----------------------------------------------------------------------------------------------------
_WEIGHED = (("down", "down-weight"), ("hold", "hold weight"), ("up", "up-weight"))
_ASIDE = (
    ("friction", "friction at the key"),
    ("spring_and_balance", "spring and balance at the key"),
    ("wind", "wind at the key"),
    ("closing", "closing margin at the eye, wind off"),
)


def weighed(note: int, standing: Standing, case: Case, units: System) -> Plain:
    """The weigh-off by statics, wind on and off, or why there is none."""
    try:
        one = weigh_note(note, standing.train, strokes=case.strokes, pressed=standing.pressed)
    except (NotPlayed, NoEquilibrium) as problem:
        return {"none": str(problem)}
    return {
        "on": _weights(one.on, units),
        "off": _weights(one.off, units),
        "more": [_weight(name, label, float(getattr(one, name)), units) for name, label in _ASIDE],
        "why": list(one.reasons),
    }


def _weights(one: Weights, units: System) -> dict[str, Plain]:
    return {name: _weight(name, label, float(getattr(one, name)), units) for name, label in _WEIGHED}


def _weight(name: str, label: str, value: float, units: System) -> Plain:
    return {
        "name": name,
        "label": label,
        "value": plain(value, "N", units),
        "text": format_value(value, "N", units) if math.isfinite(value) else "-",
        "unit": unit_of("N", units),
    }


# -- the whole keyboard ------------------------------------------------------------------------------------------
def piece(found: Whole, units: System) -> Plain:
    """Figures of some notes."""
    return {
        "notes": list(found.notes),
        "figures": {name: plains(one, QUANTITIES[name].unit, units) for name, one in found.quantities.items()},
        "verdicts": [told(*pair) for pair in zip(found.verdicts, found.failed, strict=True)],
    }
