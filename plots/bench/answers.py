"""What the bench answers, question by question; knows nothing of how it is asked."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterator
from dataclasses import asdict
from pathlib import Path
from threading import Lock
from typing import Any, TypeVar

import numpy as np

from keyaction._version import __version__
from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import sound_trains
from keyaction.cases.text.defects import CaseProblem
from keyaction.cases.text.edit import EditProblem
from keyaction.models.notes import is_sharp, note_name
from keyaction.models.train.train import TrainProblem
from keyaction.plots.bench import drawn
from keyaction.plots.bench.asked import LONGEST, MOST, Asked
from keyaction.plots.bench.drawn import Plain
from keyaction.sim.bench.edits import UnknownField
from keyaction.sim.bench.mending import mend_of
from keyaction.sim.bench.movable import movable
from keyaction.sim.bench.moved import told_edits
from keyaction.sim.bench.played import played, told_by_press, whole
from keyaction.sim.bench.refused import Said, refusals, warned
from keyaction.sim.bench.saved import NotSaved, save
from keyaction.sim.bench.workbench import Workbench
from keyaction.sim.compare import case_guides
from keyaction.sim.figures.columns import forces_felt
from keyaction.sim.figures.evenness import JUST_NOTICEABLE, neighbour_steps
from keyaction.sim.figures.limits import NO_FORCE
from keyaction.sim.run.checking import warnings
from keyaction.sim.run.standings import Standing
from keyaction.sim.seasons.as_written import as_written

_Found = TypeVar("_Found")


class Refused(Exception):
    """What the case refuses; `answer` says it."""

    def __init__(self, answer: Plain) -> None:
        super().__init__(answer["said"])
        self.answer = answer


class Answers:
    """Answers of one bench; may be asked from several threads.

    Parameters
    ----------
    bench : Workbench
    note : int, optional
        Which note a page begins with; by default the middle one.
    folder : Path
        Where cases are saved.
    """

    def __init__(self, bench: Workbench, note: int | None, folder: Path) -> None:
        self._bench, self._note, self._folder = bench, note, folder
        self._stamp = bench.stamp_now()
        self._lock = Lock()

    @property
    def bench(self) -> Workbench:
        """The case as it was read last."""
        return self._bench

    def stamps(self) -> Plain:
        """What the files are now, what they were when they were read, whether that differs, and which are lost."""
        now = self._bench.stamp_now()
        return {"stamp": now, "read": self._stamp, "changed": now != self._stamp, "lost": self._bench.lost()}

    def about(self, asked: Asked) -> Plain:
        """The case, its notes, and what quantities mean."""
        case, bench = self._bench.case, self._bench
        naming = bench.ground.naming
        return {
            "title": case.title if case else bench.path.stem,
            "file": bench.path.name,
            "division": bench.division,
            "naming": naming,
            "key": case.fingerprint[:16] if case else "",
            "notes": _notes(case) if case else [],
            "note": self._usual(case) if case else None,
            "program": "keyaction",
            "version": __version__,
            "even": JUST_NOTICEABLE,
            "folder": str(self._folder),
            "quantities": drawn.quantities(asked.units),
            "felt": list(forces_felt()),
            "defects": [self._defect(one, asked.units) for one in refusals(bench.problem, naming)]
            if bench.problem
            else [],
            "mendable": bench.data is not None,
            "most": {"edits": MOST, "signs": LONGEST},
            **self.stamps(),
        }

    def fields(self, asked: Asked) -> Plain:
        """Every field of the note that can be moved, and what `check` warns of at this note."""
        bench, case, note = self._case(asked)
        fields = movable(case, note, asked.units, bench.tables(asked.edits))
        try:
            told, defects = self._warnings(case, note, bench.stood(asked.edits, note)), []
        except TrainProblem as problem:
            told, defects = [], self._refusal(problem, asked).answer["defects"]
        parts = [
            {
                "part": one.name,
                "role": one.part.role,
                "title": one.name if one.name.startswith(one.kind) else f"{one.kind} {one.name}",
                "fields": [asdict(each) for each in fields[one.name]],
            }
            for one in case.parts
        ]
        moved = [asdict(one) for one in told_edits(case, asked.edits, asked.units)]
        found = {"note": note, "notes": _notes(case), "parts": parts, "warnings": told, "defects": defects}
        found |= {"moved": moved, "title": case.title}
        return {**found, **self.stamps()}

    def feel(self, asked: Asked) -> Plain:
        """The slow press of the note."""
        bench, _, note = self._case(asked)
        standing = self._refusing(asked, lambda: bench.stood(asked.edits, note))
        return {"note": note, **drawn.feel(standing, asked.units), **self.stamps()}

    def figures(self, asked: Asked, wait: Callable[[], None] = lambda: None) -> Plain:
        """Everything of the note; `wait` as of `played`."""
        bench, case, note = self._case(asked)
        standing = self._refusing(asked, lambda: bench.stood(asked.edits, note))
        found = drawn.figures(played(case, note, wait, standing), asked.units, told_by_press(standing))
        weigh = drawn.weighed(note, standing, case, asked.units)
        told = self._warnings(case, note, standing)
        return {"note": note, **found, "weigh": weigh, "warnings": told, **self.stamps()}

    def whole(self, asked: Asked, wanted: Callable[[], bool]) -> Iterator[Plain]:
        """All notes, some at a time; at the end their steps from neighbour to neighbour."""
        case = self._read(self._bench, asked)
        notes, forces = list[int](), {name: list[float]() for name in forces_felt()}
        pieces = whole(case, wanted)
        while (one := self._refusing(asked, lambda: next(pieces, None))) is not None:
            notes += one.notes
            for name, values in forces.items():
                values += one.quantities[name].tolist()
            yield drawn.piece(one, asked.units)
        steps = {
            name: drawn.plains(neighbour_steps(np.array(notes), np.array(values), NO_FORCE), "1", "si")
            for name, values in forces.items()
        }
        yield {"steps": steps, "notes": notes, "even": JUST_NOTICEABLE, **self.stamps()}

    def text(self, asked: Asked) -> Plain:
        """The case file with the edits in it, and what is different in it."""
        bench = self._bench
        text, name = self._text(bench, asked), bench.path.name
        lines = difflib.unified_diff(bench.text.splitlines(), text.splitlines(), name, f"{name}, as moved", lineterm="")
        return {"text": text, "difference": "\n".join(lines), "refused": self._unplayable(asked), **self.stamps()}

    def save(self, asked: Asked) -> Plain:
        """Write that text as a new case."""
        bench = self._bench
        text = self._text(bench, asked)
        try:
            saved = save(bench.with_edits(asked.edits), text, self._folder, asked.name)
        except NotSaved as problem:
            raise Refused({"said": str(problem), "defects": []}) from None
        found = {"saved": saved.path.name, "folder": str(saved.path.parent), "files": list(saved.files)}
        return {**found, "apart": saved.apart, **self.stamps()}

    def reread(self, asked: Asked) -> Plain:
        """Read the file again, as it is on the disk now."""
        with self._lock:
            try:
                bench = self._bench.again()
            except CaseProblem as problem:
                raise self._refusal(problem) from None
            self._bench, self._stamp = bench, bench.stamp_now()
        return self.about(asked)

    def warm_feel(self) -> None:
        """Have what the first feel curve needs compiled before anybody asks."""
        self.feel(Asked())

    @property
    def warm_rest(self) -> tuple[Callable[[], object], ...]:
        """The same of all figures, and of the whole keyboard."""
        return lambda: self.figures(Asked()), lambda: next(self.whole(Asked(), lambda: True))

    # -- what is common to them --------------------------------------------------------------------------------
    def _read(self, bench: Workbench, asked: Asked) -> Case:
        return self._refusing(asked, lambda: bench.with_edits(asked.edits))

    def _text(self, bench: Workbench, asked: Asked) -> str:
        return self._refusing(asked, lambda: bench.written(asked.edits))

    def _unplayable(self, asked: Asked) -> str:
        """Why trains of a case that can be read and written cannot be built; empty where all can."""
        case = self._bench.with_edits(asked.edits)
        try:
            sound_trains(case, case.compass)
        except TrainProblem as problem:
            return str(problem)
        return ""

    def _case(self, asked: Asked) -> tuple[Workbench, Case, int]:
        """The case as it is moved, and the note that is asked for, by default the one that a page begins with."""
        bench = self._bench
        case = self._read(bench, asked)
        note = asked.note if asked.note is not None else self._usual(case)
        if note not in case.compass:
            naming = case.naming
            ends = " to ".join(note_name(end, naming) for end in (case.compass[0], case.compass[-1]))
            raise Refused({"said": f"note {note} is outside the compass {ends}", "defects": []})
        return bench, case, note

    def _usual(self, case: Case) -> int:
        return self._note if self._note in case.compass else case.compass[len(case.compass) // 2]

    def _refusing(self, asked: Asked, work: Callable[[], _Found]) -> _Found:
        """What comes of work; what the case refuses in it is `Refused`."""
        try:
            return work()
        except (CaseProblem, TrainProblem, UnknownField, EditProblem) as problem:
            raise self._refusal(problem, asked) from None

    def _refusal(self, problem: Exception, asked: Asked | None = None) -> Refused:
        if isinstance(problem, CaseProblem | TrainProblem):
            found = refusals(problem, self._bench.ground.naming)
        elif isinstance(problem, UnknownField):
            found = [Said(str(problem), problem.part, problem.path)]
            found += self._others(problem, asked) if asked else []
        else:
            found = [Said(str(problem))]
        units = asked.units if asked else "trade"
        return Refused({"said": str(problem), "defects": [self._defect(one, units) for one in found], **self.stamps()})

    def _defect(self, one: Said, units: Any = "trade") -> Plain:
        """A defect, with the field that would mend it where an edit can."""
        return {**asdict(one), **asdict(mend_of(self._bench, one, units))}

    def _others(self, problem: UnknownField, asked: Asked) -> list[Said]:
        """What else is refused, beside an edit of what the case does not have."""
        found, left = list[Said](), asked.edits
        while True:
            known = tuple(one for one in left if (one.part, one.path) != (problem.part, problem.path))
            known = known if problem.path else tuple(one for one in left if one.part != problem.part)
            if known == left:
                return found
            left = known
            try:
                self._bench.with_edits(left)
                return found
            except CaseProblem as more:
                return found + refusals(more, self._bench.ground.naming)
            except UnknownField as more:
                problem = more
                found.append(Said(str(more), more.part, more.path))

    def _warnings(self, case: Case, note: int, standing: Standing) -> list[Plain]:
        stand = {note: standing}
        lines = [*warnings(case, stand), *case_guides.warned(case, stand)]
        lines += filter(None, [as_written(case, [note], "trade")])
        names = [(one, note_name(one, case.naming)) for one in case.compass]
        return [{**asdict(one), "elsewhere": bool(one.notes) and note not in one.notes} for one in warned(lines, names)]


def _notes(case: Case) -> list[Plain]:
    return [{"note": n, "name": note_name(n, case.naming), "sharp": is_sharp(n)} for n in case.compass]
