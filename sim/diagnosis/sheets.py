"""The tables of a diagnosis: causes by note, departures from the drawing, what would have been seen."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from keyaction.cases.action.case import Case
from keyaction.models.historic.works import WORKS
from keyaction.models.notes import note_name
from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.units.quantity import System
from keyaction.sim.diagnosis.found import BEYOND, Cause, Diagnosis, Named, NoteFound
from keyaction.sim.diagnosis.grouped import alone, both, cause_said, first_told, likely, second_name
from keyaction.sim.diagnosis.heard import SPOKEN
from keyaction.sim.diagnosis.limits import Limit
from keyaction.sim.diagnosis.separate import Alternative
from keyaction.sim.diagnosis.words import amount, interval, part_of, percent, short
from keyaction.sim.measuring.historic import Proposed
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

LEAST = 0.01
"""Probability below which a cause is not listed."""
HEADINGS = {
    "level": "level", "dip": "dip", "play": "play", "point": "pluck\npoint", "lift": "lift", "pluck": "pluck",
    "hold": "hold", "up": "up", "pluck_off": "pluck\noff", "hold_off": "hold\noff", "up_off": "up\noff",
}  # fmt: skip
"""Short headings of figures; off: with the wind off."""


def told(found: Diagnosis) -> list[NoteFound]:
    """Notes of which causes are told."""
    return [one for one in found.told if (one.faulty or one.doubtful) and not one.contradicted]


def causes_sheet(found: Diagnosis, case: Case, units: System) -> Sheet:
    """The first two causes of every note that is not as drawn, for the terminal."""
    columns = [Column("note", text=True)]
    for heading in ("first cause", "second"):
        columns += [Column(heading, text=True), Column("", text=True)]
    columns.insert(2, Column("amount", text=True))
    rows: list[list[Cell]] = []
    for one in told(found):
        cells: list[Cell] = [note_name(one.note, case.naming)]
        if one.causes and one.causes[0].probability >= LEAST:
            lead = one.causes[0]
            size = amount(lead.faults[0].hypothesis.fault.kind, lead.faults[0].amount, units)
            cells += [first_told(one), size if alone(lead) else "", percent(likely(lead)), *second_name(one)]
        rows.append([*cells, *[""] * (len(columns) - len(cells))])
    note = (
        "And: beside the first; or: in place of it; =: shares its place, these figures do not part them. Custom "
        "decides between what figures do not."
    )
    return Sheet("causes", "Notes that are not as drawn", columns, rows, note)


def departures_sheet(found: Diagnosis, case: Case, all_notes: bool = False) -> Sheet:
    """What was read less what is expected, in standard deviations."""
    figures = [name for name in NAMES if name in found.readings.figures]
    columns = [Column("note", text=True)]
    columns += [Column(HEADINGS[name], "", 1, limit=BEYOND, full=BY_NAME[name].heading) for name in figures]
    chosen = [one for one in found.told if all_notes or one.faulty or one.doubtful or one.far]
    rows: list[list[Cell]] = [
        [note_name(one.note, case.naming), *(float(one.share[NAMES.index(name)]) for name in figures)] for one in chosen
    ]
    note = (
        "In standard deviations of a well regulated note and its readings, what all share taken out; ! beyond "
        f"{BEYOND:g}."
    )
    return Sheet("departures", "Read less expected", columns, rows, note)


def ranked_sheet(found: Diagnosis, case: Case, units: System, tests: Mapping[int, Alternative]) -> Sheet:
    """Every likely cause of every note that is not as drawn, with symptom, remedy and test: for the file."""
    words = ("note", "place", "cause", "fault", "amount", "symptom", "remedy", "undone", "trace", "look")
    columns = [Column(word, text=True) for word in (*words, "tells the first two")]
    columns.insert(4, Column("probability", "", 3))
    rows: list[list[Cell]] = []
    note = "1 =: causes that the figures do not part. Symptoms, remedies and tests: common practice."
    for one in told(found):
        places = zip(one.places, one.causes, strict=True)
        for i, (place, cause) in enumerate(pair for pair in places if pair[1].probability >= LEAST):
            for k, named in enumerate(cause.faults):
                fault = named.hypothesis.fault
                work = WORKS[fault.remedy]
                test = tests[one.note].said(units) if i == k == 0 and one.note in tests else ""
                rows.append([
                    note_name(one.note, case.naming), place, cause.name, named.hypothesis.said(), named.probability,
                    interval(named, units), fault.symptom, work.does, work.undone, work.trace, fault.look, test,
                ])  # fmt: skip
    return Sheet("ranked-causes", "Causes, ranked", columns, rows, note)


def expected_sheet(found: Diagnosis, case: Case, units: System) -> Sheet:
    """What was read beside what is expected, for the file."""
    columns = [Column("note", text=True), Column("speech", text=True), Column("expected speech", text=True)]
    for name in found.readings.figures:
        about = BY_NAME[name]
        places = 2 if about.unit == "m" else 1
        columns += [in_units(about.heading, about.unit, units, places)]
        columns += [in_units(f"{about.heading}, expected", about.unit, units, places)]
    read = found.readings.values(NAMES, [one.note for one in found.told])
    rows: list[list[Cell]] = []
    for one, values in zip(found.told, read, strict=True):
        cells: list[Cell] = [note_name(one.note, case.naming)]
        cells += [SPOKEN.get(code, "") for code in (one.heard, one.speaks)]
        for name in found.readings.figures:
            k, unit = NAMES.index(name), BY_NAME[name].unit
            cells += [value(float(figures[k]), unit, units) for figures in (values, one.expected)]
        rows.append(cells)
    return Sheet("expected", "Read and expected", columns, rows, "Expected: as drawn, with what all notes share.")


def limits_sheet(found: Sequence[Limit], case: Case, units: System, plain: bool = False) -> Sheet:
    """The smallest fault of each kind that would have been found; in plain words for the terminal."""
    columns = [Column("fault", text=True), Column("part", text=True), Column("found from", text=True)]
    rows: list[list[Cell]] = []
    for one in found:
        fault = one.curve.hypothesis.fault
        least = amount(fault.kind, one.amount, units) if math.isfinite(one.amount) else "never"
        rows.append([short(fault) if plain else fault.name, one.curve.hypothesis.knob.part, least])
    at = note_name(found[0].note, case.naming) if found else ""
    note = (
        f"At {at}: one note that is off by so much would have been told with 95 % probability; never: these figures do "
        "not show it."
    )
    return Sheet("limits", "What would have been found", columns, rows, note)


def note_sheet(one: NoteFound, units: System) -> Sheet:
    """Every cause of one note, with amounts: for the terminal."""
    columns = [
        Column("fault", text=True),
        Column("part", text=True),
        Column("", text=True),
        Column("amount", text=True),
    ]
    rows: list[list[Cell]] = [
        [
            short(named.hypothesis.fault),
            named.hypothesis.knob.part,
            percent(named.probability),
            interval(named, units),
        ]
        for cause in one.causes
        for named in cause.faults
        if named.probability >= LEAST / 10
    ]
    return Sheet("note", "Causes", columns, rows, "Amounts with the interval that holds them with 95 %.")


def proposals(found: Diagnosis, units: System) -> list[Proposed]:
    """What is proposed for every faulty note: the remedies of its likely causes."""
    proposed = []
    for one in (each for each in found.told if each.faulty):
        first = proposed_of(one.note, one.causes[0], units)
        others = ", ".join(named.hypothesis.short() for named in one.sharing)
        told = f"{first.found}; not parted from: {others}" if others else first.found
        proposed.append(replace(first, found=told))
        proposed += [proposed_of(one.note, cause, units) for cause in both(one)]
    return proposed


def proposed_of(note: int, cause: Cause, units: System, named: Named | None = None) -> Proposed:
    """The remedy of one cause of a note: that of its likeliest fault, or of another."""
    named = named or cause.faults[0]
    fault = named.hypothesis.fault
    as_found = cause_said(cause, units)
    return Proposed(note, fault.remedy, part_of(named.hypothesis), as_found, WORKS[fault.remedy].does)
