"""What the guides of a case leave between them, note by note, before anything is played: told, and warned of."""

from __future__ import annotations

from collections.abc import Mapping

from keyaction.cases.action.case import Case
from keyaction.models.notes import note_name
from keyaction.models.units.quantity import System
from keyaction.sim.compare.guide_places import RodSpans, told
from keyaction.sim.compare.rod_facts import pulls, spans_at
from keyaction.sim.run.standings import Standing

_SAID = ("guides.stations.", "guides.keep_clear.")


def placed(standing: Standing) -> list[RodSpans]:
    """Spans of a pressed note's rods whose case says where guides stand, where none can, or that they may whip."""
    if standing.pressed is None:
        return []
    rods = [part for part in standing.train.parts if part.role == "rod" and _says(part.values.given)]
    found = (spans_at(part, pulls(standing.pressed, part.name)) for part in rods)
    return [one for one in found if one is not None]


def _says(given: Mapping[str, object]) -> bool:
    whips = getattr(given.get("side_motion"), "value", False)
    return bool(whips) or any(path.startswith(_SAID) for path in given)


def sentences(standing: Standing, system: System) -> list[str]:
    """What is said of the guides of one note."""
    return [line for one in placed(standing) for line in told(one, system)]


def warned(case: Case, standings: Mapping[int, Standing]) -> list[str]:
    """Rods whose longest span is within the band or below it, with the notes at which it is."""
    found: dict[tuple[str, str], list[int]] = {}
    for note, standing in standings.items():
        for one in placed(standing):
            if one.hit:
                found.setdefault((one.rod, ", ".join(one.hit)), []).append(note)
    return [
        f"{_span(notes, case)}: the longest span of {rod} whips as fast as a key is repeated, slower, or buckles: "
        f"{states}"
        for (rod, states), notes in found.items()
    ]


def _span(notes: list[int], case: Case) -> str:
    names = [note_name(note, case.naming) for note in notes]
    whole = len(notes) > 2 and notes[-1] - notes[0] == len(notes) - 1
    return f"{names[0]} to {names[-1]}" if whole else ", ".join(names)
