"""keyaction report: everything about a manual on sheets that a shop can print."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

import h5py

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import select, sound_trains
from keyaction.models.notes import note_name
from keyaction.plots.report.browser import NoBrowser, NotPrinted, find_browser
from keyaction.plots.report.case import case_of
from keyaction.plots.report.regulation import found_words, read_found
from keyaction.plots.report.report import PAGE, make_report, write_report
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import err, out, tell
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph
from keyaction.sim.commands.stages import Stages
from keyaction.sim.compare.store import another_case, load_comparison
from keyaction.sim.files import taken
from keyaction.sim.files.folders import refuse_unusable
from keyaction.sim.files.hdf5 import load
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.run import run as manual
from keyaction.sim.run.note import NoteResult
from keyaction.sim.run.shape import no_run
from keyaction.sim.weighing.weighoff import WeighOff, weigh

_ENDINGS = (".h5", ".hdf5")


def act(options: argparse.Namespace) -> int:
    """Carry the command out; whatever can be refused is refused before anything is played or written."""
    try:
        browser = find_browser() if options.pdf else None
        comparison = load_comparison(options.compare) if options.compare else None
        result = _loaded(options)
        case, notes = _case(options, result)
    except (NoBrowser, FileProblem) as problem:
        err().print(str(problem), markup=False)
        return BAD_INPUT
    naming = case.naming if case else result.naming if result else "scientific"
    found = read_found(options.found, notes, naming) if options.found else None
    weighing = options.weigh or (found is not None and found.weighed)
    if weighing and case is None:
        tell(f"{options.case}: weights need the case in it, which cannot be read; play it again")
        return BAD_INPUT
    refuse_unusable(options.out)
    taken.refuse_taken(options.out / PAGE, taken.PAGE)
    if result is None:
        assert case is not None
        result = _played(options, case, notes)
    if comparison is not None and (other := another_case(result, comparison)):
        tell(f"warning: {other}")
    weighed = _weighed(options, case, notes) if weighing and case else []
    with Stages() as told:
        told("drawing and writing")
        report = make_report(result, comparison, options.units, weighed, found)
        try:
            made = write_report(report, options.out, browser)
        except NotPrinted as problem:
            tell(f"{problem}; {options.out / PAGE} is whole and prints from any browser")
            return FAILED
    if found is not None:
        for line in found_words(result, found, options.units, weighed):
            paragraph(out(), f"found against computed: {line}")
    out().print(f"{len(made)} files in {options.out}: {', '.join(made)}", markup=False, soft_wrap=True)
    return _status(result)


def _case(options: argparse.Namespace, result: Result | None) -> tuple[Case | None, list[int]]:
    """The case and its notes; None where a result does not carry one that this version can read."""
    if result is None:
        case = read_case(options.case)
        notes = select(case, options.notes)
        sound_trains(case, notes)
        return case, notes
    return case_of(result), [int(note) for note in result["semitone"]]


def _weighed(options: argparse.Namespace, case: Case, notes: Sequence[int]) -> list[WeighOff]:
    with progress("weighing", len(notes)) as bar:
        told = lambda note: bar.step(f"weighed {note_name(note, case.naming):4}")  # noqa: E731
        return weigh(case, sorted(notes), progress=told, jobs=options.jobs)


def _loaded(options: argparse.Namespace) -> Result | None:
    """The result, if a result file is given; None if it is a case.

    Raises
    ------
    FileProblem
        If it is a file of the program, but not of `keyaction run`, or options do not go with it.
    """
    path = Path(options.case)
    if options.jobs < 0:
        raise FileProblem(f"--jobs {options.jobs}: must be 0 (one per core) or more")
    if path.suffix not in _ENDINGS and not (path.is_file() and h5py.is_hdf5(path)):
        return None
    if options.notes:
        raise FileProblem(f"--notes {options.notes}: goes with a case; a result file holds the notes it holds")
    result = load(path)
    if other := no_run(result):
        raise FileProblem(f"{path}: {other}")
    return result


def _played(options: argparse.Namespace, case: Case, wanted: Sequence[int]) -> Result:
    """Play the case into a result file in the folder."""
    options.out.mkdir(parents=True, exist_ok=True)
    done = 0
    with Stages() as told:

        def finished(result: NoteResult, kept: bool) -> None:  # noqa: ARG001  kept notes count like the others
            nonlocal done
            done += 1
            told(f"played {note_name(result.note, case.naming)}, {done} of {len(wanted)}")

        told(f"playing {len(wanted)} notes")
        return manual.run(case, wanted, options.out / f"{case.path.stem}.h5", options.jobs, progress=finished)


def _status(result: Result) -> int:
    failed = [name for name, status in zip(result.notes, result["status"], strict=True) if status != "ok"]
    for name in failed:
        tell(f"{name}: {result['status'][result.index(name)]}")
    return FAILED if failed else DONE
