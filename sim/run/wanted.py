"""Which notes of which cases are to be played, and their trains."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import select, sound_trains
from keyaction.cases.instrument.instrument import Instrument
from keyaction.models.notes import NoteProblem
from keyaction.models.train.train import Train, TrainProblem
from keyaction.sim.files.division_notes import choose_notes, division_named

Choice = str | Sequence[int] | Mapping[str, str | Sequence[int]] | None
"""Notes of a case by text or numbers; of an instrument by text, or for each division."""


@dataclass(frozen=True)
class Wanted:
    """The notes that are wanted of a case; `division` is empty where it stands alone."""

    division: str
    case: Case
    notes: Sequence[int]
    trains: Mapping[int, Train] = field(default_factory=dict)


def wanted(case: Case | Instrument, notes: Choice) -> list[Wanted]:
    """What is to be played.

    Raises
    ------
    keyaction.models.notes.NoteProblem
        When notes or divisions are named that there are not, or none.
    TypeError
        When it is neither a case nor an instrument.
    """
    if not isinstance(case, Instrument):
        if isinstance(notes, Mapping):
            raise NoteProblem("notes for each division go with an instrument, and this is an action case")
        return [Wanted("", case, select(case, notes))]
    chosen = _of_divisions(case, notes)
    return [Wanted(name, case.divisions[name], chosen[name]) for name in case.divisions if name in chosen]


def _of_divisions(instrument: Instrument, notes: Choice) -> dict[str, list[int]]:
    """The notes that are wanted of each division; without those of which none is."""
    if isinstance(notes, Mapping):
        named = {division_named(name, instrument.divisions): of for name, of in notes.items()}
        if not named:
            raise NoteProblem(f"no division is named; there are {', '.join(instrument.divisions)}")
        return {name: select(instrument.divisions[name], of) for name, of in named.items()}
    if notes is not None and not isinstance(notes, str):
        raise NoteProblem("numbers of notes go with a division: {'great': [60]}, or write 'great/C4'")
    compasses = {name: case.compass for name, case in instrument.divisions.items()}
    return choose_notes(notes, compasses, instrument.naming)


def with_trains(chosen: Iterable[Wanted]) -> list[Wanted]:
    """The same with the trains of its notes, the defects of all divisions gathered.

    Raises
    ------
    TrainProblem
        Each defect of the cases' fields once, with the notes that have it.
    """
    found, defects = list[Wanted](), list[str]()
    for one in chosen:
        try:
            found.append(Wanted(one.division, one.case, one.notes, sound_trains(one.case, one.notes)))
        except TrainProblem as problem:
            defects += [f"{one.division}: {text}" if one.division else text for text in problem.defects]
    if defects:
        raise TrainProblem(defects)
    return found
