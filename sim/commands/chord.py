"""keyaction chord: many notes at once, joined through the wind of their boxes."""

from __future__ import annotations

import argparse
from dataclasses import replace

from keyaction.cases.action.case import Case
from keyaction.cases.instrument.instrument import Instrument
from keyaction.models.units.quantity import UnitProblem, parse_quantity
from keyaction.sim.chord.chord import Chord
from keyaction.sim.chord.of_case import chord
from keyaction.sim.chord.problem import ChordProblem
from keyaction.sim.chord.sheet import notes_sheet, openings_sheet, robbing_sheet, sentences
from keyaction.sim.commands.chosen import Choice, Subject, choose, only_one
from keyaction.sim.commands.common import DONE, FAILED
from keyaction.sim.commands.console import err, out
from keyaction.sim.commands.on_rail import tell_rail
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.figures.play import NotPlayed
from keyaction.sim.files.taken import PICTURE, refuse_taken, table
from keyaction.sim.files.text import refuse_unwritable, write_text


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    choice = choose(options)
    of: Case | Instrument = choice.instrument or choice.chosen[0].case
    division = only_one(choice, "--division").division if options.division else ""
    rate = _rate(options.repeat)
    if options.plot:
        refuse_taken(options.plot, PICTURE, "--plot")
    if options.csv:
        refuse_unwritable(options.csv, "--csv", table(notes_sheet([], options.units).csv()))
    try:
        found = chord(of, options.notes, options.stops, rate, division, options.coupled or ())
    except NotPlayed as problem:
        err().print(str(problem), markup=False)
        return FAILED
    _show(choice, found, options)
    tell_rail(_of_chord(choice, found, options), options.units)
    if options.csv:
        write_text(options.csv, notes_sheet(found.notes, options.units).csv())
        out().print(f"table: {options.csv}", markup=False, soft_wrap=True)
    return _drawn(choice, found, options) if options.plot else DONE


def _of_chord(choice: Choice, found: Chord, options: argparse.Namespace) -> list[Subject]:
    """The divisions that are played, with their notes; one division alone names them without it."""
    names, made = {one.note for one in found.notes}, list[Subject]()
    for one in choice:
        bare = Subject("" if options.division else one.division, one.case, ())
        notes = [note for note in one.case.compass if bare.name(note) in names]
        made += [replace(one, notes=notes)] if notes else []
    return made


def _rate(text: str | None) -> float:
    """The rate of repetition in Hz; 0 where none is asked for."""
    if text is None:
        return 0.0
    try:
        rate = parse_quantity(text if any(sign.isalpha() for sign in text) else f"{text} Hz", "Hz")
    except UnitProblem as problem:
        raise ChordProblem([f"--repeat: {problem}"]) from None
    if rate == 0.0:
        raise ChordProblem(["--repeat: 0 Hz; leave the option out to strike the chord once"])
    return rate


def _show(choice: Choice, found: Chord, options: argparse.Namespace) -> None:
    console = out()
    title = choice.instrument.title if choice.instrument and not options.division else choice.chosen[0].title
    console.print(title, style="bold", markup=False)
    if found.stops is not None:
        paragraph(console, f"stops drawn: {', '.join(found.stops) or 'none'}")
    console.print(sheet_table(notes_sheet(found.notes, options.units)))
    console.print()
    for line in sentences(found, options.units):
        paragraph(console, line)
    console.print(sheet_table(openings_sheet(found, options.units)))
    if found.robbing:
        console.print(sheet_table(robbing_sheet(found)))


def _drawn(choice: Choice, found: Chord, options: argparse.Namespace) -> int:
    from keyaction.plots.chord.pressure import pressures
    from keyaction.plots.style.files import write_pictures

    case = choice.chosen[0].case
    about = {"title": choice.instrument.title if choice.instrument else case.title, "case_name": choice.path.name}
    try:
        write_pictures(options.plot.parent, [(options.plot.name, lambda: pressures(found, about, options.units))])
    except OSError as problem:
        err().print(str(problem), markup=False)
        return FAILED
    out().print(f"picture: {options.plot}", markup=False, soft_wrap=True)
    return DONE
