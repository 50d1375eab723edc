"""What a search found as labelled arrays in a file: every design that was looked at, the front, and what is offered."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from keyaction.cases.study.search import COST, Limit, Search
from keyaction.models.notes import note_name
from keyaction.models.units.quantity import parse_quantity, unit_of
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.files.hdf5 import save
from keyaction.sim.files.labelled import Result, Variable
from keyaction.sim.search.compromise import ALIKE, FELT, compromise, counting, noticeable
from keyaction.sim.search.looking import Seen
from keyaction.sim.search.offers import Offer, Offers, front_of
from keyaction.sim.search.scores import Looked, Scores, beyond, quantities_of, reasons, resolution_of, score
from keyaction.sim.search.told import asked, label_of
from keyaction.sim.sweep.designs import words

AIM, CONFIRMED, INPUT = "aim_", "confirmed_", "input_"
"""How the names begin of what is wanted of every design, of figures of the offered ones played again, of inputs."""
_STILL = 1e-3
"""Share of itself by which a figure that depends on what varies moves at least."""


def result_of(
    search: Search, seen: Seen, looked: Looked, scores: Scores, found: Offers, texts: Mapping[str, str]
) -> Result:
    """The arrays of a search.

    Parameters
    ----------
    search : Search
    seen, looked, scores
        All designs that were looked at.
    found : Offers
    texts : mapping
        What is to travel with them.
    """
    names = [note_name(note, search.case.naming) for note in search.notes]
    numbers = np.arange(len(looked))
    front = np.isin(numbers, front_of(search, scores))
    arrays: dict[str, Variable] = {
        "design": Variable(("design",), numbers, "", "number of the design, in the order in which they were looked at"),
        "note": Variable(("note",), np.array(names, dtype=object), "", "note"),
        "semitone": Variable(("note",), np.array(search.notes), "", "semitone number, C4 = 60"),
        "generation": Variable(("design",), np.asarray(seen.generation), "", "generation of the design"),
        "short": Variable(("design",), scores.short, "", "by how much the design falls short of what must hold"),
        "front": Variable(("design",), front.astype(np.int64), "", "whether no other design beats it"),
    }
    arrays |= _inputs(search, seen, looked) | _aims(search, scores) | _figures(search, looked)
    arrays |= _offered(search, found)
    return Result(arrays, {**texts, **_told(search, looked, scores, found)})


def _inputs(search: Search, seen: Seen, looked: Looked) -> dict[str, Variable]:
    found = {}
    for k, one in enumerate(search.inputs):
        column = looked.inputs[:, k]
        named = words(one, "")
        data = np.array([named[int(number)] for number in column], dtype=object) if named else column
        found[f"{INPUT}{one.name}"] = Variable(("design",), data, one.unit, one.doc)
        found[f"place_{one.name}"] = Variable(("design",), np.concatenate(seen.rows)[:, k], "", "place in its range")
    return found


def _aims(search: Search, scores: Scores) -> dict[str, Variable]:
    return {
        f"{AIM}{one.told}": Variable(("design",), scores.aims[:, k], one.unit, label_of(search, one))
        for k, one in enumerate(search.aims)
    }


def _figures(search: Search, looked: Looked) -> dict[str, Variable]:
    dims = ("design", "note")
    found = {
        name: Variable(dims, looked.values[:, :, k], QUANTITIES[name].unit, QUANTITIES[name].label)
        for k, name in enumerate(quantities_of(search))
    }
    told = {"status": "ok, or why a design has no figures", "verdict": "what becomes of the note"}
    told["sensitive"] = "figures that hang on how exactly the motion is integrated"
    found |= {name: Variable(dims, getattr(looked, name), "", label) for name, label in told.items()}
    if any(one.name == COST for one in search.figures()):
        found["rods_cost"] = Variable(("design",), looked.costs, "", "price of the rods")
    return found


def _offered(search: Search, found: Offers) -> dict[str, Variable]:
    kept = found.kept
    arrays = {
        "offered": Variable(("offered",), np.array([one.design for one in kept], dtype=np.int64), "", "offered design"),
        "case_of_offered": Variable(("offered",), np.array([one.text for one in kept], dtype=object), "", "its case"),
    }
    if not kept:
        return arrays
    looked = Looked.joined([one.looked for one in kept])
    scores = score(search, looked)
    chosen = compromise(scores.costs(search.aims), counting(search.aims, scores.aims))
    marks = np.zeros(len(kept), dtype=np.int64)
    if chosen is not None:
        marks[chosen] = 1
    arrays["compromise"] = Variable(("offered",), marks, "", "the design whose worst aim gives up least; none may be")
    for k, name in enumerate(quantities_of(search)):
        made = Variable(("offered", "note"), looked.values[:, :, k], QUANTITIES[name].unit, QUANTITIES[name].label)
        arrays[f"{CONFIRMED}{name}"] = made
    for k, one in enumerate(search.aims):
        arrays[f"{CONFIRMED}{AIM}{one.told}"] = Variable(
            ("offered",), scores.aims[:, k], one.unit, label_of(search, one)
        )
    return arrays


def _told(search: Search, looked: Looked, scores: Scores, found: Offers) -> dict[str, str]:
    """What the arrays alone do not say, as plain data."""
    names = [note_name(note, search.case.naming) for note in search.notes]
    sound = scores.short < 1.0 if not len(search.limits) else ~np.isnan(scores.limits).any(axis=1)
    return {
        "asked": json.dumps(asked(search)),
        "still": json.dumps(_still(search, scores)),
        "drawn": json.dumps(_drawn(search, found)),
        "aims": json.dumps([[one.told, one.more, one.unit, label_of(search, one)] for one in search.aims]),
        "limits": json.dumps(
            [[one.text, one.figure.more, one.value, one.figure.unit, one.usual] for one in search.limits]
        ),
        "varied": json.dumps([[one.name, one.unit, one.factor, one.chosen] for one in search.inputs]),
        "reasons": json.dumps(reasons(looked, names)),
        **{name: json.dumps(told) for name, told in _told_apart(search, found.kept).items()},
        "warned": json.dumps({str(one.design): one.warned for one in found.kept if one.warned}),
        "differs": json.dumps({str(one.design): one.differs for one in found.kept if one.differs}),
        "apart": json.dumps({str(one.design): one.apart for one in found.kept if one.apart}),
        "refused": json.dumps({str(design): why for design, why in found.refused.items()}),
        "shortfalls": json.dumps(_shortfalls(search, scores) if np.any(sound) else []),
    }


def _still(search: Search, scores: Scores) -> list[str]:
    """Aims that hardly depend on what varies."""
    found = []
    for k, one in enumerate(search.aims):
        there = scores.aims[np.isfinite(scores.aims[:, k]), k]
        if len(there) > 1 and resolution_of(one.name).difference(float(there.min()), float(there.max())) < _STILL:
            found.append(one.told)
    return found


def _told_apart(search: Search, kept: Sequence[Offer]) -> dict[str, dict[str, Any]]:
    """Aims in which all that is offered is `alike`, and why; those of which the best is `hardly` better than the next.

    Of the latter which design that next one is, and why.
    """
    alike, hardly = dict[str, str](), dict[str, tuple[int, str]]()
    if len(kept) > 1:
        scores = score(search, Looked.joined([one.looked for one in kept]))
        counts, costs = counting(search.aims, scores.aims), scores.costs(search.aims)
        for k, one in enumerate(search.aims):
            why = ALIKE[one.name in FELT]
            best, second = np.argsort(costs[:, k], kind="stable")[:2]
            if not counts[k]:
                alike[one.told] = why
            if not noticeable(one.name, *scores.aims[[best, second], k].tolist()):
                hardly[one.told] = kept[second].design, why
    return {"alike": alike, "hardly": hardly}


def _drawn(search: Search, found: Offers) -> dict[str, object]:
    """What the case as it is drawn gives of the aims, and which limits it misses; nothing where it cannot be played."""
    if found.drawn is None:
        return {}
    scores = score(search, found.drawn)
    given = zip(search.limits, scores.limits[0], strict=True)
    missed = [one.text for one, value in given if beyond(one, np.array([value]))[0]]
    return {"aims": [_plain(float(value)) for value in scores.aims[0]], "missed": missed}


def _shortfalls(search: Search, scores: Scores) -> list[dict[str, Any]]:
    """Of each limit how many designs keep it, the best there is, and what the nearest design has."""
    nearest = int(np.argmin(scores.short))
    found: list[dict[str, Any]] = []
    for k, one in enumerate(search.limits):
        column = scores.limits[:, k]
        there = column[np.isfinite(column)]
        best = (np.max(there) if one.figure.more else np.min(there)) if len(there) else np.nan
        met = there >= one.value if one.figure.more else there <= one.value
        found.append(
            {
                "limit": one.text,
                "met": int(np.count_nonzero(met)),
                "best": _plain(best),
                "nearest": _plain(column[nearest]),
                "in_unit_of_limit": _in_unit_of(one, {"best": float(best), "nearest": float(column[nearest])}),
            }
        )
    return [*found, {"nearest": nearest}]


def _in_unit_of(one: Limit, values: Mapping[str, float]) -> dict[str, str]:
    """Values as the limit is written, with so many digits that none looks like the limit that it misses."""
    unit = unit_of(one.text.partition("= ")[2])
    zero, single = (parse_quantity(f"{number} {unit}", one.figure.unit or "1") for number in (0, 1))
    shown = {}
    for name, value in values.items():
        digits = [f"{(value - zero) / (single - zero):.{count}g}" for count in range(3, 8)]
        limit = f"{(one.value - zero) / (single - zero):.7g}"
        number = next((text for text in digits if text != limit), digits[-1])
        shown[name] = f"{number} {unit}".strip() if np.isfinite(value) else "none"
    return shown


def _plain(value: float) -> float | str:
    return float(value) if np.isfinite(value) else "none"


def save_search(result: Result, path: Path) -> None:
    """Write it, whole or not at all.

    Raises
    ------
    FileProblem
        When the disk is full, or something else has the name.
    """
    save(result, path)
