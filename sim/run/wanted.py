"""Which notes of which cases are to be played, and their trains."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import select, sound_trains
from keyaction.cases.instrument.instrument import Instrument
from keyaction.models.notes import NoteProblem
from keyaction.models.train.train import Train, TrainProblem
from keyaction.sim.files.division_notes import choose_notes, division_named, split_notes
from keyaction.sim.run.coupling import Coupling

Choice = str | Sequence[int] | Mapping[str, str | Sequence[int]] | None
"""Notes of a case by text or numbers; of an instrument by text, or for each division."""


@dataclass(frozen=True)
class Wanted:
    """The notes that are wanted of a case; `division` is empty where it stands alone."""

    division: str
    case: Case
    notes: Sequence[int]
    trains: Mapping[int, Train] = field(default_factory=dict)
    coupling: Coupling | None = None

    def found_trains(self) -> dict[int, Train]:
        """The trains of its notes, with all that drawn couplers move; errors as of `sound_trains`."""
        if self.coupling is None:
            return sound_trains(self.case, self.notes)
        coupling = self.coupling
        return sound_trains(self.case, self.notes, lambda note: coupling.note(self.division, note).train())


def wanted(case: Case | Instrument, notes: Choice, coupling: Coupling | None = None) -> list[Wanted]:
    """What is to be played; where couplers are drawn, of all divisions those of which one takes hold.

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
    chosen = _of_divisions(case, notes, coupling)
    names = (name for name in case.divisions if name in chosen)
    return [Wanted(name, case.divisions[name], chosen[name], coupling=coupling) for name in names]


def meant_divisions(instrument: Instrument, notes: str | None, coupling: Coupling | None) -> list[str]:
    """The divisions that notes without one hold for: all; where couplers are drawn, those that they take hold of and
    those that are named.

    Raises
    ------
    keyaction.models.notes.NoteProblem
        When divisions are named that there are not.
    """
    if coupling is None:
        return list(instrument.divisions)
    named = {name for name, _ in split_notes(notes, list(instrument.divisions))} if notes else set()
    return [name for name in instrument.divisions if name in named or name in coupling.played]


def _of_divisions(instrument: Instrument, notes: Choice, coupling: Coupling | None) -> dict[str, list[int]]:
    """The notes that are wanted of each division; without those of which none is."""
    if isinstance(notes, Mapping):
        named = {division_named(name, instrument.divisions): of for name, of in notes.items()}
        if not named:
            raise NoteProblem(f"no division is named; there are {', '.join(instrument.divisions)}")
        return {name: select(instrument.divisions[name], of) for name, of in named.items()}
    if notes is not None and not isinstance(notes, str):
        raise NoteProblem("numbers of notes go with a division: {'great': [60]}, or write 'great/C4'")
    meant = meant_divisions(instrument, notes, coupling)
    compasses = {name: instrument.divisions[name].compass for name in meant}
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
            found.append(replace(one, trains=one.found_trains()))
        except TrainProblem as problem:
            defects += [f"{one.division}: {text}" if one.division else text for text in problem.defects]
    if defects:
        raise TrainProblem(defects)
    return found
