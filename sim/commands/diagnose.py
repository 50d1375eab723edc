"""keyaction diagnose: what was measured at the keys against what every fault would make of the drawing."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import replace

from keyaction.cases.measured.sheet import read_sheet
from keyaction.models.readings.readings import Readings
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.commands.caution import CAUTION, INSIDE
from keyaction.sim.commands.chosen import Subject
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import out, tell
from keyaction.sim.commands.gathered import Gathered
from keyaction.sim.commands.on_rail import rail_said
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph, show_sheet
from keyaction.sim.commands.yearly import wrong_folder, wrong_jobs
from keyaction.sim.diagnosis.answers import Answers
from keyaction.sim.diagnosis.diagnosis import answers_for, diagnose
from keyaction.sim.diagnosis.found import Diagnosis, NoteFound
from keyaction.sim.diagnosis.heard import heard
from keyaction.sim.diagnosis.limits import limits
from keyaction.sim.diagnosis.said import altered, note_said, sentences
from keyaction.sim.diagnosis.separate import Alternative, alternatives
from keyaction.sim.diagnosis.sheets import (
    causes_sheet,
    departures_sheet,
    expected_sheet,
    limits_sheet,
    note_sheet,
    proposals,
    ranked_sheet,
)
from keyaction.sim.diagnosis.words import figure, listed
from keyaction.sim.measuring.believed import believed
from keyaction.sim.measuring.historic import proposed_sheet

_WORK = 8
"""Pieces of work that a bar counts, more or less."""


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    need_numba()
    gathered = Gathered([*wrong_jobs(options), *wrong_folder(options.out, "--out")])
    wrong, chosen = gathered.wrong, gathered.subject(options, "diagnose")
    readings = gathered.tried(lambda: _read(options, chosen)) if chosen else None
    if chosen is None or readings is None:
        tell(gathered.told)
        return BAD_INPUT
    division = readings.head.division
    if division and chosen.division and division != chosen.division:
        wrong.append(f"{options.measured}: its division is {division}; {chosen.division} is asked for")
    measured = [note for note in chosen.notes if note in readings.notes]
    single = _single(chosen, options.note, measured, wrong)
    if not measured:
        wrong.append(f"{options.measured}: none of the notes that are asked for was measured")
    if wrong:
        tell("\n".join(wrong))
        return BAD_INPUT
    whole = replace(chosen, notes=[note for note in chosen.case.compass if note in readings.notes])
    answers = _answers(whole, readings, options)
    sheet = believed(readings, chosen.case, answers.whole, options.units, answers.notes)
    if not sheet.readings.notes:
        tell("\n".join(sheet.told))
        return BAD_INPUT
    found = diagnose(answers, sheet.readings, measured)
    odd = [*rail_said(chosen.case, measured, options.units, options.jobs), *sheet.told]
    tests = alternatives(found)
    if single is not None:
        _one(chosen, next(one for one in found.found if one.note == single), tests, odd, options)
    else:
        _all(chosen, found, tests, odd, options)
    if options.out:
        _write(chosen, found, tests, odd, options)
    return FAILED if found.unpressed else DONE


def _read(options: argparse.Namespace, chosen: Subject) -> Readings:
    return read_sheet(options.measured, chosen.case.compass, chosen.case.naming)


def _single(chosen: Subject, text: str | None, measured: Sequence[int], wrong: list[str]) -> int | None:
    """The note of --note; what is wrong with it is added."""
    if not text:
        return None
    from keyaction.cases.action.trains import one_note  # here, because few ask for it

    note = one_note(chosen.case, text.rpartition("/")[2])
    if note not in measured:
        wrong.append(f"--note {text}: it was not measured")
    return note


def _answers(chosen: Subject, readings: Readings, options: argparse.Namespace) -> Answers:
    with progress(f"diagnosing {chosen.title}", _WORK) as bar:
        answers = answers_for(chosen.trains(), readings, chosen.case.strokes, options.jobs, bar.step)
        _ = answers.whole
        return answers


def _all(
    chosen: Subject,
    found: Diagnosis,
    tests: Mapping[int, Alternative],
    odd: Sequence[str],
    options: argparse.Namespace,
) -> None:
    console, case, units = out(), chosen.case, options.units
    console.print(chosen.title, style="bold", markup=False)
    for line in odd:
        paragraph(console, f"! {line}")
    for line in sentences(found, case, units, tests):
        paragraph(console, f"- {line}")
    console.print("\nAs found against as drawn", style="bold")
    for line in altered(found, case):
        paragraph(console, f"- {line}")
    for sheet in (causes_sheet(found, case, units), departures_sheet(found, case)):
        if sheet.rows:
            show_sheet(console, sheet)
    if found.nothing:
        show_sheet(console, limits_sheet(limits(found), case, units, plain=True))
    else:
        paragraph(console, "Symptoms, remedies and tests are common practice; what faults do to figures is computed.")
    paragraph(console, CAUTION)
    paragraph(console, INSIDE)


def _one(
    chosen: Subject,
    one: NoteFound,
    tests: Mapping[int, Alternative],
    odd: Sequence[str],
    options: argparse.Namespace,
) -> None:
    """Everything of one note."""
    console, name = out(), chosen.name(one.note)
    console.print(f"{chosen.title}: {name}", style="bold", markup=False)
    for line in odd:
        paragraph(console, f"! {line}")
    if one.faulty:
        paragraph(console, f"- {note_said(one, name, options.units, tests)}")
    elif one.otherwise:
        paragraph(console, f"- {heard(one, name)}")
    else:
        paragraph(console, f"- {name}: no fault is likely enough to be told ({100 * one.belief.faulty:.0f} %).")
    if one.far:
        paragraph(console, f"- Read again: {listed([figure(far) for far in one.far])}.")
    if not one.contradicted:
        for cause in one.causes[:3]:
            hypothesis = cause.faults[0].hypothesis
            fault = hypothesis.fault
            paragraph(console, f"- {hypothesis.short()}: {fault.symptom}. To see it: {fault.look}.")
        show_sheet(console, note_sheet(one, options.units))
    paragraph(console, CAUTION)
    paragraph(console, INSIDE)


def _write(
    chosen: Subject,
    found: Diagnosis,
    tests: Mapping[int, Alternative],
    odd: Sequence[str],
    options: argparse.Namespace,
) -> None:
    from keyaction.plots.onsite.diagnosis import cards, page_sheets  # here, because it loads what makes pages
    from keyaction.plots.onsite.page import save_page

    case, units, least = chosen.case, options.units, limits(found)
    proposed = proposed_sheet(proposals(found, units), case.historic, case.naming)
    to_do = cards(found, case, units, tests)
    files = [
        ranked_sheet(found, case, units, tests),
        proposed,
        departures_sheet(found, case, all_notes=True),
        expected_sheet(found, case, units),
        limits_sheet(least, case, units),
    ]
    made = save_page(
        options.out,
        "diagnosis",
        f"Diagnosis: {chosen.title}",
        sentences(found, case, units, tests, single=False),
        page_sheets(found, case, units, least),
        files=files,
        cards=to_do,
        cards_title=f"What is to be done at {', '.join(one.head for one in to_do)}",
        cautions=[*proposed.lines, CAUTION, INSIDE],
        warnings=odd,
    )
    out().print(f"{len(made)} files in {options.out}", markup=False, soft_wrap=True)
