"""keyaction report: everything about a manual on sheets that a shop can print."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import h5py

from keyaction.cases.action.case import Case
from keyaction.models.climate.year import Year
from keyaction.models.notes import Naming, note_name
from keyaction.plots.report.browser import NoBrowser, NotPrinted, find_browser
from keyaction.plots.report.case import case_of
from keyaction.plots.report.regulation import Found, found_words, read_found
from keyaction.plots.report.report import PAGE, make_report, write_report
from keyaction.plots.report.whole import write_index
from keyaction.sim.chord.chord import Chord
from keyaction.sim.commands.chosen import Choice, choose
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import err, out, tell
from keyaction.sim.commands.divisions import chosen_results, of_divisions, one_division, tell_failed
from keyaction.sim.commands.playing import play
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.report_chord import chord_pages, refuse_without_chord, struck_chord
from keyaction.sim.commands.report_season import wants_year, year_of_report
from keyaction.sim.commands.sheet_tables import paragraph
from keyaction.sim.commands.stages import Stages
from keyaction.sim.compare.store import another_case, load_comparison
from keyaction.sim.figures.play import NotPlayed
from keyaction.sim.files import taken
from keyaction.sim.files.division_notes import full_name
from keyaction.sim.files.folders import refuse_unusable
from keyaction.sim.files.hdf5 import load
from keyaction.sim.files.instrument_result import InstrumentResult
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.run.note import NoteResult
from keyaction.sim.run.shape import no_run
from keyaction.sim.weighing.weighoff import WeighOff, weigh

_ENDINGS = (".h5", ".hdf5")
DRAWINGS = "drawings"
"""The folder of a report in which drawings to scale lie."""


@dataclass(frozen=True)
class _Reported:
    """What a report is of: a case and its notes; `division` is empty of an action case.

    The case is None where a result does not carry one that this version can read.
    """

    division: str
    case: Case | None
    notes: Sequence[int]
    naming: Naming


def act(options: argparse.Namespace) -> int:
    """Carry the command out; whatever can be refused is refused before anything is played or written."""
    try:
        browser = find_browser() if options.pdf else None
        comparison = load_comparison(options.compare) if options.compare else None
        whole = _loaded(options)
        refuse_without_chord(options, whole is not None)
    except (NoBrowser, FileProblem) as problem:
        err().print(str(problem), markup=False)
        return BAD_INPUT
    choice = choose(options, options.notes) if whole is None else None
    results = chosen_results(whole, options.division, options.case) if whole is not None else {}
    subjects = _of_choice(choice) if choice else _of_results(results)
    divisions = [one.division for one in subjects]
    for option, given in (("--compare", options.compare), ("--found", options.found)):
        if given:
            one_division(divisions, option)
    year = _climate(options)
    found = read_found(options.found, subjects[0].notes, subjects[0].naming) if options.found else None
    weighing = options.weigh or (found is not None and found.weighed)
    if weighing and any(one.case is None for one in subjects):
        tell(f"{options.case}: weights need the case in it, which cannot be read; play it again")
        return BAD_INPUT
    try:
        struck = struck_chord(options, choice, whole, divisions, subjects[0].case) if options.chord else None
    except FileProblem as problem:
        tell(str(problem))
        return BAD_INPUT
    except NotPlayed as problem:
        tell(f"--chord {options.chord}: {problem}")
        return FAILED
    refuse_unusable(options.out)
    for folder in {options.out, *(options.out / one.division for one in subjects)}:
        taken.refuse_taken(folder / PAGE, taken.PAGE)
    if choice:
        whole = _played(options, choice)
        results = of_divisions(whole)
    with_chord = chord_pages(options, divisions) if struck else set()
    for one in subjects:
        here = struck if one.division in with_chord else None
        if status := _report(options, one, results[one.division], comparison, weighing, found, browser, here, year):
            return status
    if isinstance(whole, InstrumentResult):
        write_index(InstrumentResult(results, whole.about), options.out, options.units)
        out().print(f"{PAGE} in {options.out} leads to them", markup=False, soft_wrap=True)
    return FAILED if tell_failed(results) else DONE


def _of_choice(choice: Choice) -> list[_Reported]:
    choice.each(lambda one: one.trains())
    return [_Reported(one.division, one.case, one.notes, one.case.naming) for one in choice]


def _of_results(results: Mapping[str, Result]) -> list[_Reported]:
    found = []
    for division, result in results.items():
        case, notes = case_of(result), [int(note) for note in result["semitone"]]
        found.append(_Reported(division, case, notes, case.naming if case else result.naming))
    return found


def _report(
    options: argparse.Namespace,
    one: _Reported,
    result: Result,
    comparison: Result | None,
    weighing: bool,
    found: Found | None,
    browser: str | None,
    struck: Chord | None,
    year: Year | None,
) -> int:
    """Write the report of one case or division."""
    if comparison is not None and (other := another_case(result, comparison)):
        tell(f"warning: {other}")
    weighed = _weighed(options, one.case, one.notes) if weighing and one.case else []
    folder = options.out / one.division
    with Stages() as told:
        season = whole = None
        if wants_year(options):
            told(f"a year of {one.division or 'the action'}")
            season, whole = year_of_report(one.case, one.notes, year, options.jobs)
        told(f"drawing and writing {one.division}".strip())
        report = make_report(result, comparison, options.units, weighed, found, struck, season, whole)
        try:
            made = write_report(report, folder, browser)
        except NotPrinted as problem:
            tell(f"{problem}; {folder / PAGE} is whole and prints from any browser")
            return FAILED
    if one.case is not None and one.case.layout is not None:
        made += _drawn(one.case, folder)
    if found is not None:
        for line in found_words(result, found, options.units, weighed):
            paragraph(out(), f"found against computed: {line}")
    out().print(f"{len(made)} files in {folder}: {', '.join(made)}", markup=False, soft_wrap=True)
    return DONE


def _climate(options: argparse.Namespace) -> Year | None:
    """The climate that --climate names."""
    if not wants_year(options) or options.climate is None:
        return None
    from keyaction.cases.seasons.climate_file import read_climate  # here, because few reports name one

    return read_climate(options.climate)


def _drawn(case: Case, folder: Path) -> list[str]:
    """Drawings to scale and cutting lists beside a report: where they are."""
    from keyaction.plots.drawings.save import save_drawings  # here, because few cases are laid out

    saved = save_drawings(case, folder / DRAWINGS)
    for line in saved.remarks:
        paragraph(out(), line)
    return [f"{DRAWINGS}/{path.name}" for path in saved.files]


def _weighed(options: argparse.Namespace, case: Case, notes: Sequence[int]) -> list[WeighOff]:
    with progress("weighing", len(notes)) as bar:
        told = lambda note: bar.step(f"weighed {note_name(note, case.naming):4}")  # noqa: E731
        return weigh(case, sorted(notes), progress=told, jobs=options.jobs)


def _loaded(options: argparse.Namespace) -> Result | InstrumentResult | None:
    """The result, if a result file is given; None if it is a case or an instrument.

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


def _played(options: argparse.Namespace, choice: Choice) -> Result | InstrumentResult:
    """Play the case or the instrument into a result file in the folder."""
    options.out.mkdir(parents=True, exist_ok=True)
    done, count = 0, sum(len(one.notes) for one in choice)
    with Stages() as told:

        def finished(division: str, result: NoteResult, kept: bool) -> None:  # noqa: ARG001  kept ones count as well
            nonlocal done
            done += 1
            told(f"played {full_name(division, note_name(result.note, choice.naming))}, {done} of {count}")

        told(f"playing {count} notes")
        return play(choice, options.out / f"{choice.path.stem}.h5", options.jobs, finished)
