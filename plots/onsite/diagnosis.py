"""The page of a diagnosis: a card for each faulty note, then its causes and readings, then all notes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from keyaction.cases.action.case import Case
from keyaction.models.notes import note_name
from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.units.quantity import System
from keyaction.plots.onsite.page import Card
from keyaction.sim.diagnosis.found import BEYOND, Cause, Diagnosis, Named, NoteFound
from keyaction.sim.diagnosis.grouped import alone, both, cause_said, instead
from keyaction.sim.diagnosis.heard import SPOKEN
from keyaction.sim.diagnosis.limits import Limit
from keyaction.sim.diagnosis.said import altered
from keyaction.sim.diagnosis.separate import Alternative
from keyaction.sim.diagnosis.sheets import HEADINGS, LEAST, departures_sheet, limits_sheet, proposed_of, told
from keyaction.sim.diagnosis.words import interval, percent
from keyaction.sim.measuring.historic import Proposed, historic_cells
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.tables.sheet import NONE, Cell, Column, Sheet, in_units, value

_DONE = "done by, on"
_WORTH = 0.1
"""Probability from which on a fault of a group has its own remedy on a card."""


def cards(found: Diagnosis, case: Case, units: System, tests: Mapping[int, Alternative]) -> list[Card]:
    """What is to be done at each faulty note: what it has, how that is made sure of, and what mends it.

    Parameters
    ----------
    found : Diagnosis
    case : Case
    units : {"trade", "si"}
    tests : mapping of int to Alternative
        Of `keyaction.sim.diagnosis.separate.alternatives`.
    """
    return [
        Card(note_name(one.note, case.naming), list(_rows(one, case, units, tests))) for one in found.told if one.faulty
    ]


def _rows(one: NoteFound, case: Case, units: System, tests: Mapping[int, Alternative]) -> Iterator[tuple[str, str]]:
    first, *others = causes = [one.causes[0], *both(one)]
    yield "found", cause_said(first, units)
    for cause in others:
        yield "and", cause_said(cause, units)
    for other in one.sharing:
        yield "or else", f"{other.hypothesis.said()}, {interval(other, units)}; {percent(other.probability)}"
    if one.sharing:
        yield (
            "beware",
            "these figures do not part them, custom has its say in the order: make sure before anything is done",
        )
    elif (rival := instead(one)) is not None:
        yield "or else", f"{rival.hypothesis.said()}; {percent(rival.probability)}"
    if one.poor:
        yield "beware", "even so no fault of the table explains it well"
    yield "make sure", tests[one.note].said(units) if one.note in tests else first.faults[0].hypothesis.fault.look
    if one.sharing:
        by_name = {cause.name: cause for cause in one.causes}
        likely = [(first, first.faults[0])]
        likely += [(by_name[named.hypothesis.fault.cause], named) for named in one.sharing]
        yield from _work(one.note, likely, case, units)
        causes = others
    for cause in causes:
        yield from _work(one.note, [(cause, named) for named in _worth(cause)], case, units)
    yield _DONE, ""


def _worth(cause: Cause) -> list[Named]:
    """The fault that stands for a cause, or those of it that are worth a remedy of their own."""
    return [cause.faults[0]] if alone(cause) else [one for one in cause.faults if one.probability >= _WORTH]


def _work(note: int, likely: Sequence[tuple[Cause, Named]], case: Case, units: System) -> Iterator[tuple[str, str]]:
    """The remedy of a fault; of several that are not parted that of each, with its condition."""
    done: dict[tuple[str, str], list[str]] = {}
    for cause, named in likely:
        one: Proposed = proposed_of(note, cause, units, named)
        _, proposed, undone, trace, *_ = historic_cells(one, case.historic)
        work = f"{proposed} ({one.part}). Reversible: {undone}; trace left: {trace}"
        done.setdefault((one.work, work), []).append(named.hypothesis.short())
    for (_, work), words in done.items():
        yield "then", work if len(done) == 1 else f"if {' or '.join(words)}: {work}"


def page_sheets(found: Diagnosis, case: Case, units: System, limits: Sequence[Limit]) -> list[Sheet]:
    """The tables of the page; what was read beside what is expected is told of the notes that stand out."""
    departures = departures_sheet(found, case, all_notes=True)
    all_of = replace(departures, title="All notes: read less expected", lines=altered(found, case))
    return [_causes(found, case, units), _readings(found, case, units), _limits(limits, case, units), all_of]


def _causes(found: Diagnosis, case: Case, units: System) -> Sheet:
    """Every likely fault of every note that is not as drawn; the note is named once."""
    columns = [
        Column(word, text=True)
        for word in ("note", "place", "fault", "how sure", "amount", "how it shows", "where to look")
    ]
    rows: list[list[Cell]] = []
    for one in told(found):
        name = note_name(one.note, case.naming)
        for place, named in _likely(one):
            fault = named.hypothesis.fault
            words = [place, named.hypothesis.said(), percent(named.probability), interval(named, units)]
            rows.append([name, *words, fault.symptom, fault.look])
            name = ""
    note = (
        "Amounts with the interval that holds them with 95 %. 1 =: causes that the figures do not part. How it shows "
        "and where to look: common practice."
    )
    return Sheet("causes", "Causes, ranked", columns, rows, note)


def _likely(one: NoteFound) -> Iterator[tuple[str, Named]]:
    for place, cause in zip(one.places, one.causes, strict=True):
        if cause.probability >= LEAST:
            yield from ((place, named) for named in cause.faults if named.probability >= LEAST)


def _readings(found: Diagnosis, case: Case, units: System) -> Sheet:
    """Of notes that stand out what was read, what is expected, and how far apart that is."""
    names = [name for name in NAMES if name in found.readings.figures]
    columns = [Column("note", text=True), Column("", text=True), Column("speech", text=True)]
    columns += [replace(in_units(HEADINGS[name], BY_NAME[name].unit, units), text=True) for name in names]
    chosen = [one for one in found.told if one.faulty or one.doubtful or one.otherwise or one.far]
    rows: list[list[Cell]] = []
    for one in chosen:
        read = found.readings.values(NAMES, [one.note])[0]
        spoken = [SPOKEN.get(code, "") for code in (one.heard, one.speaks)]
        rows.append([note_name(one.note, case.naming), "read", spoken[0], *_cells(read, names, units)])
        rows.append(["", "expected", spoken[1], *_cells(one.expected, names, units)])
        rows.append(["", "off by", "", *(_off(float(one.share[NAMES.index(name)])) for name in names)])
    note = (
        "Expected: as drawn, with what all notes share. Off by: in standard deviations of a well regulated note and "
        f"its readings; ! beyond {BEYOND:g}."
    )
    return Sheet("readings", "Read and expected at the notes that stand out", columns, rows, note)


def _cells(figures: Floats, names: Sequence[str], units: System) -> Iterator[str]:
    for name in names:
        unit = BY_NAME[name].unit
        column = in_units("", unit, units, 1 if unit == "m" else 0)
        yield column.shown(value(float(figures[NAMES.index(name)]), unit, units))


def _off(share: float) -> str:
    return Column("", places=1, limit=BEYOND).shown(share) if math.isfinite(share) else NONE


def _limits(found: Sequence[Limit], case: Case, units: System) -> Sheet:
    """The smallest fault that would have been found, in words."""
    whole = limits_sheet(found, case, units)
    said = [one.curve.hypothesis.said() for one in found]
    rows = [[words, row[-1]] for words, row in zip(said, whole.rows, strict=True)]
    return replace(whole, columns=[whole.columns[0], whole.columns[-1]], rows=rows)
