"""What a diagnosis says, in sentences, the answer first."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import pairwise

from scipy.stats import chi2, norm

from keyaction.cases.action.case import Case
from keyaction.models.notes import note_name
from keyaction.models.readings.figures import BY_NAME
from keyaction.models.readings.rounded import as_read
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.diagnosis.apart import second_of, shared_test
from keyaction.sim.diagnosis.faults import FAULTS
from keyaction.sim.diagnosis.found import BEYOND, Diagnosis, NoteFound
from keyaction.sim.diagnosis.grouped import both, cause_said, instead, shared_place
from keyaction.sim.diagnosis.heard import heard_told
from keyaction.sim.diagnosis.hypotheses import FEWEST, cannot
from keyaction.sim.diagnosis.limits import unseen
from keyaction.sim.diagnosis.neighbours import NEAR
from keyaction.sim.diagnosis.separate import Alternative
from keyaction.sim.diagnosis.shared import Common, Step
from keyaction.sim.diagnosis.words import amount, figure, percent

_NAMED = 12
"""Notes that are named in one line."""
_LOST = 0.05
"""Chance of what is left below which it is told that something is unexplained."""


def sentences(
    found: Diagnosis, case: Case, units: System, tests: Mapping[int, Alternative], single: bool = True
) -> list[str]:
    """The answer: how many notes are as drawn, what all share, then note by note.

    Parameters
    ----------
    found : Diagnosis
    case : Case
    units : {"trade", "si"}
    tests : mapping of int to Alternative
        Of `keyaction.sim.diagnosis.separate.alternatives`.
    single : bool
        Whether faulty notes have their sentences; a page has cards of them.
    """

    def name(note: int) -> str:
        return note_name(note, case.naming)

    lines = [_count(found), *_others(found)]
    lines += [_shared(found, step, case, units) for step in found.base.steps]
    lines += [_drifted(found, units)] if found.drifts else []
    lines += [
        f"{figure(hint.figure).capitalize()}: {hint.between} differ by "
        f"{as_read(abs(hint.step), BY_NAME[hint.figure].unit, units)}, more than by chance: look at the roller "
        "board and the two halves of the chest before single notes."
        for hint in found.hints
    ]
    lines += [note_said(one, name(one.note), units, tests) for one in found.told if single and one.faulty]
    lines += heard_told(found, case)
    lines += _doubts(found, case, units)
    lines += _again(found, case)
    lines += _left_out(found, case)
    return lines


def _count(found: Diagnosis) -> str:
    notes = len(found.told)
    wrong = sum(one.faulty for one in found.told)
    doubt = sum(one.doubtful for one in found.told)
    told = f"{notes} {'note was' if notes == 1 else 'notes were'} measured"
    if found.others:
        told = f"{notes} of {len(found.found)} measured notes {'is' if notes == 1 else 'are'} told"
    if found.nothing and doubt:
        rest = f"{notes - doubt} as drawn within errors and good regulation" if doubt < notes else "none as drawn"
        return f"Nothing certain: {told}, {rest}, {doubt} in doubt."
    if found.nothing:
        return f"Nothing found: {told}, all as drawn within errors and good regulation."
    shared = " apart from what all share" if found.base.steps or found.drifts else ""
    unsure = f", {doubt} in doubt" if doubt else ""
    own = "its" if wrong == 1 else "their"
    return f"{told}: {notes - wrong - doubt} as drawn{shared}{unsure}, {wrong} with a fault of {own} own."


def _others(found: Diagnosis) -> list[str]:
    """What the notes that are not told are there for."""
    if not found.others:
        return []
    wrong = sum(one.faulty for one in found.others)
    doubt = sum(one.doubtful for one in found.others)
    state = (
        f"{wrong or 'none'} of them {'with a fault' if wrong == 1 else 'with faults'} and {doubt or 'none'} in doubt"
    )
    return [f"The others count in what all share and in what is usual; {state}, told without --notes."]


def common_said(one: Common, units: System) -> str:
    """A shared cause with its amount."""
    side = f" (notes of the {one.side} side)" if one.side else ""
    error = format_value(abs(one.error), "m" if not one.fault.kind else "1", units, digits=1)
    told = amount(one.fault.kind, one.amount, units)
    share = abs(one.error / one.amount) if one.amount else math.inf
    return f"{one.fault.said}{side}: {told}, to {100 * share:.0f} % of it" if error else told


def _shared(found: Diagnosis, step: Step, case: Case, units: System) -> str:
    first, second = step.found, second_of(step)
    told = f"All {len(found.found)} notes share ({percent(first.probability)}): {common_said(first, units)}."
    if step.sharing:
        named = (f"{common_said(one, units)} ({percent(one.probability)})" for one in (first, *step.sharing))
        told = f"All {len(found.found)} notes share one cause, which the figures do not part: {'; or '.join(named)}."
    elif second is not None:
        told += f" Or ({percent(second.probability)}): {common_said(second, units)}."
    mend = f" To mend: {first.fault.mend}." if first.fault.mend else ""
    return f"{told} {shared_test(found, step, units, lambda note: note_name(note, case.naming))}.{mend}"


def _causes_said(step: Step) -> str:
    others = ", or ".join(one.fault.said for one in step.sharing)
    return f"{step.found.fault.said} (or {others})" if others else step.found.fault.said


def _drifted(found: Diagnosis, units: System) -> str:
    parts = [
        f"{figure(one.figure)} by {as_read(one.low, BY_NAME[one.figure].unit, units)} to "
        f"{as_read(one.high, BY_NAME[one.figure].unit, units)}"
        for one in found.drifts
    ]
    return (
        f"Besides, neighbours lie off alike in {'; '.join(parts)}: taken for the drawing's or the model's own error "
        "(running median of the neighbours) and not for faults of notes; calibrate settles it."
    )


def note_said(one: NoteFound, name: str, units: System, tests: Mapping[int, Alternative]) -> str:
    """One faulty note: its causes with amounts, and the test."""
    first = one.causes[0].faults[0]
    told = f"{name}: {'; and '.join(cause_said(cause, units) for cause in (one.causes[0], *both(one)))}."
    if one.sharing:
        told += f" {shared_place(one)}"
    elif (rival := instead(one)) is not None:
        told += f" Or else: {rival.hypothesis.said()} ({percent(rival.probability)})."
    if one.note in tests:
        told += f" To tell: {tests[one.note].said(units)}."
    else:
        told += f" To see it: {first.hypothesis.fault.look}."
    return told + (" Even so no fault of the table explains it well." if one.poor else "")


def _doubts(found: Diagnosis, case: Case, units: System) -> list[str]:
    lines = []
    for one in found.told:
        name = note_name(one.note, case.naming)
        if one.misread:
            lines.append(f"{name}: read {figure(one.misread)} again; no fault moves it alone like that.")
        elif one.otherwise:
            continue
        elif one.unclear and one.poor:
            lines.append(f"{name}: no fault of the table explains it; measure it again, and look.")
        elif one.unclear and one.causes:
            also = f" {shared_place(one)}" if one.sharing else ""
            lines.append(f"{name}: perhaps {cause_said(one.causes[0], units)}; measure it again.{also}")
    return lines


def _again(found: Diagnosis, case: Case) -> list[str]:
    """Single readings that lie far off at notes that count as sound."""
    far = [(one, name) for one in found.told for name in one.far]
    if not far:
        return []
    named = [f"{note_name(one.note, case.naming)} {figure(name)}" for one, name in far]
    more = f" and {len(named) - _NAMED} others" if len(named) > _NAMED else ""
    chance = sum(one.freedom for one in found.told) * float(2.0 * norm.sf(BEYOND))
    told = "one" if round(chance) == 1 else f"{chance:.0f}" if chance >= 0.5 else "hardly one"
    return [
        f"Read again: {'; '.join(named[:_NAMED])}{more}: more than {BEYOND:g} standard deviations off, though no "
        f"fault of the note goes with it. Of so many readings {told} would be so by chance."
    ]


def _left_out(found: Diagnosis, case: Case) -> list[str]:
    lines = []
    if found.answers.few:
        lines.append(
            f"Fewer than {FEWEST} notes: what all notes share (wind, stops, length of the run) cannot be told from "
            "faults of these notes and is asked of each."
        )
    ruled: dict[str, int] = {}
    for one in found.told:
        for told in cannot(found.answers.trains[one.note]):
            ruled[told] = ruled.get(told, 0) + 1
    for told, notes in ruled.items():
        fault, _, why = told.partition(": ")
        of = "" if notes == len(found.told) else f" at {notes} of the notes"
        lines.append(f"Not weighed{of}: {FAULTS[fault].said.format(part='')}; {why}.")
    hidden = list(dict.fromkeys(fault.said.format(part="") for fault in unseen(found)))
    if hidden:
        lines.append(f"Not to be seen in the figures that were read, whatever its size: {'; '.join(hidden)}.")
    lines += [
        f"{note_name(note, case.naming)}: the model cannot be pressed as drawn ({why}); nothing is said of it."
        for note, why in found.unpressed.items()
    ]
    return lines


def _even(found: Diagnosis) -> str:
    """How evenly the action is regulated, beside custom."""
    factor, notes = math.sqrt(found.even), found.answers.notes
    who = "Neighbours scatter" if all(b - a <= NEAR for a, b in pairwise(notes)) else "The notes scatter"
    if found.answers.few or 0.7 < factor < 1.5:
        return f"{who} as in a good regulation."
    if factor < 1.0:
        return f"{who} less than a good regulation leaves, by custom."
    return f"{who} {factor:.1f} times as much as a good regulation leaves, by custom: regulate first."


def altered(found: Diagnosis, case: Case) -> list[str]:
    """As found against as drawn: whether the action still matches its drawing, and what was altered in it.

    The measure is chi-squared of all readings about the drawing, against errors of reading and what a good regulation
    leaves; each cause is told by the share of the excess that goes with it.
    """
    drawn, shared, drifted, single, freedom = found.squares
    chance = float(chi2.sf(drawn, max(freedom, 1.0)))
    lines = [
        f"Against the drawing, in what errors and the evenness of the action leave: "
        f"{math.sqrt(drawn / max(freedom, 1.0)):.2f} standard deviations on average of {freedom:.0f} figures (1 or "
        f"less: as drawn). {_even(found)}"
    ]
    single_out = [one.note for one in found.told if one.faulty or one.doubtful]
    if chance > _LOST and not found.base.steps and single_out:
        names = ", ".join(note_name(note, case.naming) for note in single_out[:_NAMED])
        names += f" and {len(single_out) - _NAMED} others" if len(single_out) > _NAMED else ""
        return [*lines, f"As a whole the action lies no further from its drawing than by chance; see above of {names}."]
    if chance > _LOST and not (found.nothing and not any(one.faulty for one in found.others)):
        return [*lines, "As a whole the action lies no further from its drawing than by chance; see above."]
    if chance > _LOST:
        return [*lines, "The action as found matches its drawing; nothing altered that these figures would show."]
    excess = max(drawn - min(freedom, single), 1e-9)
    parts = [
        (drawn - shared, "; ".join(_causes_said(one) for one in found.base.steps)),
        (shared - drifted, "what neighbours share besides (drawing or model)"),
        (drifted - single, "faults of single notes"),
    ]
    told = [f"{100 * part / excess:.0f} % {what}" for part, what in parts if what and part > 0.01 * excess]
    lines.append(f"Of what lies beyond them: {', '.join(told) or 'nothing explained'}.")
    rest = float(chi2.sf(single, max(freedom, 1.0)))
    lines.append(
        f"What is left after that is {math.sqrt(single / max(freedom, 1.0)):.2f}: "
        + ("no more than errors." if rest > _LOST else "more than errors; something is wrong that no fault here makes.")
    )
    return lines
