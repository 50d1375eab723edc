"""What a command works on: the one case that is named, or the divisions of an instrument that are chosen."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import select
from keyaction.cases.instrument.instrument import Instrument
from keyaction.cases.instrument.reader import is_instrument, read_instrument
from keyaction.models.notes import Naming, note_name
from keyaction.models.train.train import Train, TrainProblem
from keyaction.sim.commands.divisions import NotChosen, one_division, wanted_divisions
from keyaction.sim.files.division_notes import BETWEEN, choose_notes, full_name
from keyaction.sim.files.taken import end_of
from keyaction.sim.run.coupling import Coupling, coupling_of
from keyaction.sim.run.wanted import Wanted, meant_divisions

Found = TypeVar("Found")


@dataclass(frozen=True)
class Subject:
    """A case and the notes of it that are wanted; `division` is empty of an action case."""

    division: str
    case: Case
    notes: Sequence[int]
    coupling: Coupling | None = None

    def trains(self) -> dict[int, Train]:
        """The trains of its notes, with all that drawn couplers move; errors as of `sound_trains`."""
        return Wanted(self.division, self.case, self.notes, coupling=self.coupling).found_trains()

    @property
    def title(self) -> str:
        """Heading of what is shown of it."""
        return f"{self.division}: {self.case.title}" if self.division else self.case.title

    def name(self, note: int) -> str:
        """The note as it is told: of an instrument DIVISION/NOTE."""
        return full_name(self.division, note_name(note, self.case.naming))


@dataclass(frozen=True)
class Choice:
    """All that a command works on, in the order of the instrument."""

    instrument: Instrument | None
    chosen: tuple[Subject, ...]
    coupling: Coupling | None = None

    def __iter__(self) -> Iterator[Subject]:
        return iter(self.chosen)

    @property
    def path(self) -> Path:
        """The file that CASE names."""
        return self.instrument.path if self.instrument else self.chosen[0].case.path

    @property
    def naming(self) -> Naming:
        """How its notes are written."""
        return self.instrument.naming if self.instrument else self.chosen[0].case.naming

    def notes(self, text: str | None) -> dict[str, list[int]]:
        """Other notes of the chosen divisions, such as --note names; by division, those that have one."""
        if self.instrument is None:
            (only,) = self.chosen
            return {"": select(only.case, _bare(text))}
        compasses = {one.division: one.case.compass for one in self.chosen}
        return choose_notes(text, compasses, self.instrument.naming)

    def one_note(self, text: str | None) -> Choice:
        """The divisions that --note chooses, each with that note first; all as they are without it."""
        if not text:
            return self
        found = self.notes(text)
        kept = (replace(one, notes=found[one.division]) for one in self.chosen if one.division in found)
        return Choice(self.instrument, tuple(kept), self.coupling)

    def each(self, work: Callable[[Subject], Found]) -> list[Found]:
        """What comes of each, the defects of all their trains gathered.

        Raises
        ------
        TrainProblem
            Of an instrument each defect names its division.
        """
        found, defects = list[Found](), list[str]()
        for one in self.chosen:
            try:
                found.append(work(one))
            except TrainProblem as problem:
                if not one.division:
                    raise
                defects += [f"{one.division}: {text}" for text in problem.defects]
        if defects:
            raise TrainProblem(defects)
        return found


def choose(options: argparse.Namespace, notes: str | None = None) -> Choice:
    """Read what CASE names, with the divisions of --division and their notes.

    Parameters
    ----------
    options : Namespace
        With ``case`` and ``division``; of a command that draws couplers ``coupled`` and ``held``.
    notes : str, optional
        As --notes has them.

    Raises
    ------
    NotChosen
        If an action case is asked for divisions or couplers, or a division for its notes that is not chosen.
    keyaction.CaseProblem, keyaction.NoteProblem, keyaction.CouplerProblem
        If the file, a division, a note or a coupler is wrong.
    """
    coupled = getattr(options, "coupled", None)
    held = getattr(options, "held", None) if hasattr(options, "coupled") else None  # springs has a held leg
    if held and coupled is None:
        raise NotChosen(f"--held {held}: another hand holds what couplers move; draw them with --coupled")
    if not is_instrument(options.case):
        case = read_case(options.case)  # first: who cannot be read is no action case either
        if options.division:
            raise NotChosen(
                f"--division {','.join(options.division)}: {options.case} is an action case and has no divisions; "
                "leave the option out, or name an instrument"
            )
        if coupled is not None:
            told = "is an action case and has no couplers; leave the option out, or name an instrument"
            raise NotChosen(f"--coupled {coupled}: {options.case} {told}")
        return Choice(None, (Subject("", case, select(case, _bare(notes))),))
    instrument = read_instrument(options.case)
    coupling = coupling_of(instrument, coupled, held or ()) if coupled is not None else None
    meant = meant_divisions(instrument, notes, coupling)
    wanted = wanted_divisions(options.division, list(instrument.divisions)) if options.division else meant
    compasses = {name: instrument.divisions[name].compass for name in wanted}
    found = choose_notes(notes, compasses, instrument.naming)
    subjects = (Subject(name, instrument.divisions[name], chosen, coupling) for name, chosen in found.items())
    return Choice(instrument, tuple(subjects), coupling)


def choose_one(options: argparse.Namespace, what: str, notes: str | None = None) -> Subject:
    """The only division that is chosen, for what is of one case alone.

    Parameters
    ----------
    options, notes
        As of `choose`.
    what : str
        What needs it, such as "--out".

    Raises
    ------
    NotChosen
        If there are several; the message names them.
    """
    return only_one(choose(options, notes), what)


def only_one(choice: Choice, what: str) -> Subject:
    """The same of what is chosen already."""
    one_division([one.division for one in choice], what)
    return choice.chosen[0]


def put_back(one: Subject, options: argparse.Namespace) -> list[str]:
    """Where the case of a division that --out names belongs: alone it lacks what the instrument says."""
    if not one.division:
        return []
    file = Path(options.case)
    place, where = "a copy of the instrument", "its path from there"
    if file.is_file():
        place, where = str(file), f'"{Path(os.path.relpath(options.out, file.parent)).as_posix()}"'
    return [
        f"It is the case of one division: write it into {place} at [[division]] {one.division}, case = {where}. "
        "By itself it lacks what the instrument says of it: climate, materials, set, places."
    ]


def not_the_instrument(choice: Choice, path: Path) -> list[str]:
    """What is wrong with a place for the case of a division, where it is the instrument's own."""
    if choice.instrument is None or end_of(path).resolve() != choice.instrument.path.resolve():
        return []
    return [f"--out {path}: that is the instrument itself, and a division's case may not take its place"]


def described(instrument: Instrument) -> list[str]:
    """A line for each division: its notes, its keyboard, and how it stands."""
    found = []
    for name, case in instrument.divisions.items():
        told, ends = instrument.entries[name], [note_name(case.compass[i], case.naming) for i in (0, -1)]
        more = [f"on keyboard {told.keyboard}", *(["enclosed"] if told.enclosed else [])]
        more += [f"on the chest of {told.shares}"] if told.shares else []
        notes = f"{len(case.compass)} notes, {' to '.join(ends)}"
        found.append(f"{name}: {', '.join([notes, *more])}; {case.path.name}")
    return found


def _bare(notes: str | None) -> str | None:
    """Notes of an action case, which has no divisions."""
    if notes is not None and BETWEEN in notes:
        raise NotChosen(f"'{notes}': an action case has no divisions; write the notes alone, such as C4 or C2:G4")
    return notes
