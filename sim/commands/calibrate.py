"""keyaction calibrate: the unknowns of notes from what was measured at them."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import check_trains
from keyaction.cases.measured.all import Found, read_measured
from keyaction.cases.text.near import hint
from keyaction.cases.tuning.targets import TuneProblem
from keyaction.models.notes import note_name
from keyaction.models.readings.courses import Curve, Trace
from keyaction.models.train.train import Train
from keyaction.sim.calibration.asked import Asked
from keyaction.sim.calibration.found import Calibrated
from keyaction.sim.calibration.legend import legend, unusual_words
from keyaction.sim.calibration.measured import Measured, measured_at
from keyaction.sim.calibration.new_case import UnwrittenCase, calibrated_text, check_text, written_words
from keyaction.sim.calibration.next import Ranked, ranked
from keyaction.sim.calibration.note import NotCalibrated, calibrate
from keyaction.sim.calibration.odd import odd_curves, of_other_case, of_other_pressure
from keyaction.sim.calibration.sheets import correlations_sheet, fit_sheet, found_sheet, next_sheet
from keyaction.sim.calibration.telling import sentences
from keyaction.sim.calibration.unknowns import KINDS, Unknown, UnknownProblem, chosen, unknowns
from keyaction.sim.calibration.wanted import usual
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.commands.caution import CAUTION, INSIDE
from keyaction.sim.commands.chosen import Subject
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import out, tell
from keyaction.sim.commands.gathered import Gathered
from keyaction.sim.commands.on_rail import tell_rail
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph, show_sheet
from keyaction.sim.commands.yearly import wrong_jobs
from keyaction.sim.files.folders import refuse_unusable, staged
from keyaction.sim.files.taken import refuse_special
from keyaction.sim.files.text import refuse_unwritable
from keyaction.sim.measuring.computed import as_measured, computed, drawn_levels
from keyaction.sim.measuring.noticed import noticed
from keyaction.sim.tables.sheet import Column, Sheet
from keyaction.sim.tune.new_case import refuse_taken, write_case


@dataclass(frozen=True)
class _Note:
    """A note with what was measured and what is asked of it."""

    asked: Asked
    left: tuple[str, ...] = ()

    @property
    def measured(self) -> Measured:
        return self.asked.measured


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    need_numba()
    gathered = Gathered(wrong_jobs(options))
    subject = gathered.subject(options, "calibrate")
    if subject is not None:
        gathered.wrong += _wrong(options, subject.case)
    read = gathered.tried(lambda: _read(options, subject.case)) if subject else None
    if gathered.wrong or subject is None or read is None:
        tell(gathered.told)
        return BAD_INPUT
    if not options.list:
        tell_rail([replace(subject, notes=_notes(options, subject, read))], options.units, options.jobs)
    try:
        return _listed(options, subject, read) if options.list else _act(options, subject, read)
    except (UnknownProblem, NotCalibrated, UnwrittenCase) as problem:
        tell(str(problem))
        return BAD_INPUT


def _wrong(options: argparse.Namespace, case: Case) -> list[str]:
    """What can be refused before anything is read or computed."""
    wrong = []
    if not options.measured and not options.list:
        wrong.append("MEASURED: name what was measured, such as feel-C4; --list says what can be found")
    wrong += [f"--unknown {name}: not known{hint(name, KINDS)}" for name in _unknown(options) if name not in KINDS]
    if options.list:
        wrong += [
            f"--{name}: --list writes nothing; leave one of them out"
            for name in ("out", "plots", "csv")
            if getattr(options, name)
        ]
    if options.out:
        refuse_unwritable(options.out, "--out")
        refuse_special(options.out, "--out")
        wrong += _taken(case, options.out)
    for name in ("plots", "csv"):
        if folder := getattr(options, name):
            refuse_unusable(folder, f"--{name}")
    return wrong


def _unknown(options: argparse.Namespace) -> list[str]:
    """Names that --unknown has."""
    return list(dict.fromkeys(name.strip() for name in (options.unknown or "").split(",") if name.strip()))


def _taken(case: Case, path: Path) -> list[str]:
    """Nothing is written over."""
    try:
        refuse_taken(case, path, force=False)
    except TuneProblem:
        return [f"{path}: there already, or other files that the case needs beside it; choose another --out"]
    return []


def _notes(options: argparse.Namespace, subject: Subject, found: Found) -> list[int]:
    return [note for note in subject.notes if note in found.notes] if options.notes else found.notes


def _read(options: argparse.Namespace, case: Case) -> Found:
    return read_measured(options.measured, case.compass, case.naming)


def _listed(options: argparse.Namespace, subject: Subject, read: Found) -> int:
    """What can be found at the notes, as the case has it."""
    case = subject.case
    if options.notes:
        note = subject.notes[0]
    elif options.measured:
        note = _measured_first(read)
    else:
        note = case.compass[len(case.compass) // 2]
    train = check_trains(case, [note])[note]
    columns = (Column("unknown", text=True), Column("case", text=True), Column("what it is", text=True))
    rows = [[one.name, _as_drawn(one, options), one.kind.doc] for one in unknowns(case, train).values()]
    name = note_name(note, case.naming)
    show_sheet(out(), Sheet("unknowns", f"What can be found at {name}", columns, rows))
    return DONE


def _measured_first(found: Found) -> int:
    if not found.notes:
        raise NotCalibrated("MEASURED: nothing was measured at any note")
    return found.notes[0]


def _as_drawn(one: Unknown, options: argparse.Namespace) -> str:
    from keyaction.sim.calibration.found import Value
    from keyaction.sim.calibration.telling import value_words

    return value_words(Value(one, one.start, None), one.start, options.units)


def _act(options: argparse.Namespace, subject: Subject, read: Found) -> int:
    case = subject.case
    notes = _notes(options, subject, read)
    if not notes:
        raise NotCalibrated(f"--notes {options.notes}: nothing was measured at any of them")
    trains = check_trains(case, notes)
    asked = _notes_of(options, case, notes, read, trains)
    odd = _odd(options, case, read, trains)
    odd += [line for one in asked for line in odd_curves(one.asked, options.units)]
    found, failed = _found(case, asked)
    if not found:
        raise NotCalibrated("\n".join([*odd, *failed.values()]))
    steps = _next_steps(found, case)
    _show(options, subject, found, asked, odd, steps)
    for line in failed.values():
        paragraph(out(), f"Not calibrated: {line}")
    written = _written(options, subject, found)
    _files(options, subject, found, steps)
    return FAILED if failed or any(one.poor for one in found) or not written else DONE


def _notes_of(
    options: argparse.Namespace, case: Case, notes: Sequence[int], read: Found, trains: Mapping[int, Train]
) -> list[_Note]:
    """All notes, or every defect of what is asked of any."""
    found, wrong = list[_Note](), dict[str, None]()
    for note in notes:
        try:
            found.append(_note_of(options, case, note, read, trains[note]))
        except UnknownProblem as problem:
            wrong |= dict.fromkeys(str(problem).split("\n"))
    if wrong:
        raise UnknownProblem("\n".join(wrong))
    return found


def _note_of(options: argparse.Namespace, case: Case, note: int, read: Found, train: Train) -> _Note:
    measured = measured_at(note, read.sheets, read.curves, read.traces, case.naming)
    there = unknowns(case, train)
    if options.unknown is not None:
        names = _unknown(options)
        if not names:
            raise UnknownProblem("--unknown: names nothing; see --list")
        of = chosen(there, names, note_name(note, case.naming))
        return _Note(Asked(case, measured, tuple(of), options.jobs))
    of, left = usual(there, measured)
    return _Note(Asked(case, measured, tuple(of), options.jobs), tuple(left))


def _odd(options: argparse.Namespace, case: Case, read: Found, trains: Mapping[int, Train]) -> list[str]:
    """What is odd about all that was measured before anything is concluded from it."""
    courses: list[Curve | Trace] = [*read.curves, *read.traces]
    courses = [one for one in courses if one.note in trains]
    told = [*of_other_case(courses, case), *of_other_pressure(courses, case, options.units)]
    for sheet in read.sheets:
        notes = [note for note in trains if note in sheet.notes]
        if notes:
            own = [as_measured(trains[note], sheet.head) for note in notes]
            drawn = computed(own, case.strokes, jobs=options.jobs)
            drawn = drawn.from_level(drawn_levels([trains[note] for note in notes], case.strokes, options.jobs))
            told += noticed(sheet, case, drawn, options.units, notes)
    return told


def _found(case: Case, asked: Sequence[_Note]) -> tuple[list[Calibrated], dict[int, str]]:
    found, failed = list[Calibrated](), dict[int, str]()
    with progress("calibrating", len(asked)) as bar:
        for one in asked:
            name = note_name(one.measured.note, case.naming)
            try:
                if not one.measured.count:
                    raise NotCalibrated("; ".join(one.measured.said) or "nothing that could be calibrated was measured")
                found.append(calibrate(one.asked))
            except NotCalibrated as problem:
                failed[one.measured.note] = f"{name}: {problem}"
            bar.step(f"calibrated {name}")
    return found, failed


def _next_steps(found: Sequence[Calibrated], case: Case) -> dict[int, list[Ranked]]:
    steps = {}
    with progress("what to measure next", len(found)) as bar:
        for one in found:
            steps[one.note] = ranked(one)
            bar.step(f"what to measure next at {note_name(one.note, case.naming)}")
    return steps


def _show(
    options: argparse.Namespace,
    subject: Subject,
    found: Sequence[Calibrated],
    asked: Sequence[_Note],
    odd: Sequence[str],
    steps: Mapping[int, Sequence[Ranked]],
) -> None:
    console, case = out(), subject.case
    console.print(subject.title, style="bold", markup=False)
    for line in odd:
        paragraph(console, line)
    by_note = {one.measured.note: one for one in asked}
    for one in found:
        name = note_name(one.note, case.naming)
        paragraph(console, f"{name}: {one.measured.words}.")
        told = sentences(one, options.units, by_note[one.note].left)
        for line in (*one.measured.said, *told, *unusual_words(one, options.units)):
            paragraph(console, line, "  ")
    show_sheet(console, found_sheet(found, case.naming, options.units))
    for line in legend(found, case.naming, options.units):
        paragraph(console, line)
    for one in found:
        show_sheet(console, next_sheet(one, steps[one.note], case.naming))
    paragraph(console, INSIDE)
    paragraph(console, CAUTION)


def _written(options: argparse.Namespace, subject: Subject, found: Sequence[Calibrated]) -> bool:
    """Write the calibrated case, if it is wanted and the fits are good; whether nothing was held back."""
    if not options.out:
        return True
    poor = [note_name(one.note, subject.case.naming) for one in found if one.poor]
    if poor and not options.anyway:
        paragraph(out(), f"{options.out} was not written: the fit of {', '.join(poor)} is poor; --anyway writes it.")
        return False
    about = ", ".join(path.name for path in options.measured)
    for line in written_words(found, subject.case.naming):
        paragraph(out(), line)
    text = calibrated_text(subject.case, found, " ".join(f"from {about}".split()))
    check_text(subject.case, text, found)
    made = write_case(subject.case, options.out, text)
    out().print(f"calibrated case: {', '.join(map(str, made))}", markup=False, soft_wrap=True)
    return True


def _files(
    options: argparse.Namespace, subject: Subject, found: Sequence[Calibrated], steps: Mapping[int, Sequence[Ranked]]
) -> None:
    case = subject.case
    if options.csv:
        sheets = [
            found_sheet(found, case.naming, options.units),
            fit_sheet(found, case.naming, options.units),
            *(next_sheet(one, steps[one.note], case.naming) for one in found),
            *(correlations_sheet(one, case.naming) for one in found),
        ]
        with staged(options.csv) as folder:
            for sheet in sheets:
                Path(folder / f"{sheet.name}.csv").write_text(sheet.csv(), encoding="utf-8")
        out().print(f"tables: {len(sheets)} in {options.csv}", markup=False, soft_wrap=True)
    if options.plots:
        from keyaction.plots.onsite.fit import save_fits  # here, because it loads Matplotlib

        made = save_fits(found, options.plots, options.units)
        out().print(f"pictures: {len(made)} in {options.plots}", markup=False, soft_wrap=True)
