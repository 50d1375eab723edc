"""keyaction tune --coupler-play: the play of the couplers of an instrument, note by note."""

from __future__ import annotations

import argparse
import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from rich.console import Console

from keyaction.cases.action.reader import read_case
from keyaction.cases.fields.compass import Compass
from keyaction.cases.instrument.coupler import slug
from keyaction.cases.instrument.instrument import Instrument
from keyaction.cases.instrument.reader import is_instrument, read_instrument
from keyaction.cases.tuning.targets import TuneProblem
from keyaction.models.notes import note_name
from keyaction.models.parts.key import Key
from keyaction.models.units.quantity import System, UnitProblem, format_value, parse_quantity
from keyaction.sim.commands.caution import INSIDE
from keyaction.sim.commands.chosen import Choice, choose
from keyaction.sim.commands.common import DONE, FAILED
from keyaction.sim.commands.console import out
from keyaction.sim.commands.divisions import NotChosen
from keyaction.sim.commands.options.tune import OF_COUPLERS
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.coupling.plays_file import entries, file_name, plays_files
from keyaction.sim.coupling.regulate import SetCoupler
from keyaction.sim.coupling.rounds import rounds_of, rounds_told
from keyaction.sim.coupling.sheets import already_apart, lacks, opening_sheet, schedule_sheet, stagger_sheet, uneven
from keyaction.sim.coupling.split import LEAST_LIFT, LEAST_PLAY, Wishes
from keyaction.sim.coupling.tune import Regulated, together, tune_couplers
from keyaction.sim.figures.heavy import heavy_line, helps, limit_of
from keyaction.sim.figures.verdict import alike
from keyaction.sim.files.folders import refuse_unusable, staged
from keyaction.sim.files.problem import Taken
from keyaction.sim.files.text import write_text
from keyaction.sim.run.coupling import Coupling

PITCH = 5e-4
"""m of way in one turn of a coupler's nut; assumed."""
_WIDEST_LIFT, _WIDEST_PLAY, _WIDEST_PITCH = 0.05, 0.01, 0.005


def refuse_of_couplers(options: argparse.Namespace) -> None:
    """Complain about options that go with --coupler-play alone.

    Raises
    ------
    TuneProblem
        Naming all of them.
    """
    given = [_option(name) for name in OF_COUPLERS if getattr(options, name) is not None]
    if given:
        raise TuneProblem(
            [f"{', '.join(given)}: goes with --coupler-play, which regulates couplers; give that as well"]
        )


def regulate(options: argparse.Namespace, springs: Sequence[str]) -> int:
    """Carry the command out; `springs` are the options that are of springs alone."""
    _refuse(options, springs)
    wishes, stagger, pitch = _asked(options)
    chosen = _rounds(options)
    if options.out:
        _refuse_taken(chosen, options)
    total = sum(len(_notes(one).get(coupler.played, ())) for one in chosen for coupler in _coupling(one).couplers)
    found = list[Regulated]()
    with progress("setting", total) as bar:
        for choice in chosen:
            instrument = _coupling(choice).instrument

            def told(one: SetCoupler) -> None:
                bar.step(f"{one.name} {note_name(one.note, chosen[0].naming)}")

            drawn = _coupling(choice).drawn
            found.append(tune_couplers(instrument, drawn, _notes(choice), wishes, stagger, options.jobs, told))
    _show(out(), chosen, found, stagger, pitch, options.units)
    if options.out:
        _write(found, stagger, pitch, options)
    _cautions(out(), together(found), options.units)
    return _judged(out(), together(found))


def _rounds(options: argparse.Namespace) -> list[Choice]:
    """What is to be regulated: the couplers that are named; without names all, those that close a loop apart."""
    if options.coupled is not None:
        return [choose(options, options.notes)]
    found = []
    for names in rounds_of(read_instrument(options.case)):
        options.coupled = names
        found.append(choose(options, options.notes))
    return found


def _coupling(choice: Choice) -> Coupling:
    assert choice.coupling is not None  # couplers are drawn in every round
    return choice.coupling


def _notes(choice: Choice) -> dict[str, list[int]]:
    return {one.division: list(one.notes) for one in choice}


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"


def _refuse(options: argparse.Namespace, springs: Sequence[str]) -> None:
    """Complain about what does not go with couplers."""
    if not is_instrument(options.case):
        read_case(options.case)  # first: who cannot be read is no action case either
        told = "is an action case and has no couplers; name an instrument, or leave the option out"
        raise NotChosen(f"--coupler-play: {options.case} {told}")
    given = [_option(name) for name in (*springs, "targets", "csv") if getattr(options, name) is not None]
    wrong = [f"{', '.join(given)}: goes with springs; leave it out, or --coupler-play"] if given else []
    wrong += [f"--jobs {options.jobs}: must be 0 (one per core) or more"] if options.jobs < 0 else []
    if wrong:
        raise TuneProblem(wrong)


def _asked(options: argparse.Namespace) -> tuple[Wishes, float, float]:
    """What is wished, the stagger and the pitch of the nut; every slip in them at once."""
    wrong: list[str] = []

    def length(name: str, default: float, high: float, zero: bool = False) -> float:
        text = getattr(options, name)
        try:
            found = default if text is None else parse_quantity(text, "m")
        except UnitProblem as problem:
            wrong.append(f"{_option(name)}: {problem}")
            return default
        if not math.isnan(found) and not (0.0 < found <= high or (zero and found == 0.0)):
            low = "from 0" if zero else "above 0"
            wrong.append(f"{_option(name)}: '{text}' is outside what is allowed: {low} up to {high * 1e3:g} mm")
        return found

    play, stagger = length("least_play", LEAST_PLAY, _WIDEST_PLAY, True), length("stagger", math.nan, _WIDEST_PLAY)
    pitch, lift = length("pitch", PITCH, _WIDEST_PITCH), LEAST_LIFT
    of_own = options.least_lift is None or "%" in options.least_lift
    if options.least_lift is not None and of_own:
        try:
            lift = parse_quantity(options.least_lift, "1")
        except UnitProblem as problem:
            wrong.append(f"--least-lift: {problem}")
        if not 0.0 < lift <= 1.0:
            wrong.append(f"--least-lift: '{options.least_lift}' is outside what is allowed: above 0 up to 100 %")
    elif not of_own:
        lift = length("least_lift", LEAST_LIFT, _WIDEST_LIFT)
    if wrong:
        raise TuneProblem(wrong)
    return Wishes(lift, of_own, play), stagger, pitch


def _refuse_taken(chosen: Sequence[Choice], options: argparse.Namespace) -> None:
    """Complain about a folder that holds files of these names, before anything is computed."""
    refuse_unusable(options.out)
    couplers = [one for choice in chosen for one in _coupling(choice).couplers]
    played, drawn = dict.fromkeys(one.played for one in couplers), [one.name for one in couplers]
    names = ["schedule.csv", "lifts.csv", "stagger.csv", *map(file_name, played), *map(_picture, drawn)]
    there = [name for name in names if (options.out / name).exists()]
    if there and not options.force:
        raise Taken(f"{options.out}: {', '.join(there)}: is there already; choose another --out, or give --force")


def _picture(coupler: str) -> str:
    return f"play-{slug(coupler)}.png"


def _show(
    console: Console, chosen: Sequence[Choice], found: Sequence[Regulated], stagger: float, pitch: float, units: System
) -> None:
    """Print what was found, round by round."""
    console.print(found[0].instrument.title, style="bold", markup=False)
    apart = ["", *rounds_told([one.order for one in found])]
    for choice, one, line in zip(chosen, found, apart, strict=True):
        if line:
            console.print()
            paragraph(console, line)
        _show_round(console, choice, one, pitch, units)
    if math.isfinite(stagger):
        every = together(found)
        console.print(sheet_table(stagger_sheet(every.found, chosen[0].naming, units, stagger, brief=True)))
        for division, own in every.by_division.items():
            ranges = _compass(every.instrument, division).ranges
            for line in already_apart(own, stagger, ranges, units):
                paragraph(console, f"{division}, {line}")


def _compass(instrument: Instrument, division: str) -> Compass:
    return Compass(instrument.divisions[division].compass, instrument.naming)


def _show_round(console: Console, choice: Choice, found: Regulated, pitch: float, units: System) -> None:
    """Print what was found: the order, a table for each coupler, what the pallets lift."""
    instrument = found.instrument
    paragraph(console, f"Order of regulation, each after those that it takes along: {', '.join(found.order)}.")
    for line in found.nothing:
        paragraph(console, f"- {line}")
    tables = [[one for one in found.found if one.name == name] for name in found.order]
    tables = [own for own in tables if own]
    for own in tables:
        coupler = instrument.couplers[own[0].name]
        title = f"{coupler.name}: {coupler.played} moves {coupler.driven}, {coupler.pitch}"
        sheet = replace(schedule_sheet(own, choice.naming, units, pitch, brief=True), title=title)
        console.print(sheet_table(sheet, note=own is tables[-1]))
        _remarks(console, choice, own)
    paragraph(console, f"Turns are of a nut of {format_value(pitch, 'm', units)} pitch, at the end that gives.")
    sheet = opening_sheet(found.openings, choice.naming, units, found.wishes, _forces(found), brief=True)
    for division in dict.fromkeys(one.division for one in found.openings):
        rows = [row for one, row in zip(found.openings, sheet.rows, strict=True) if one.division == division]
        last = division == found.openings[-1].division
        title = f"{division}, all these couplers drawn: do the driven pallets open?"
        console.print(sheet_table(replace(sheet, title=title, rows=rows), note=last))


def _remarks(console: Console, choice: Choice, own: Sequence[SetCoupler]) -> None:
    """Notes that are left as they are, and those at which a finger can tell the step."""
    naming = choice.naming
    left = {note_name(one.note, naming): f"left as it is: {one.reason}" for one in own if one.reason}
    for line in alike(left):
        paragraph(console, line)
    if steps := uneven(own):
        played = next(one.case for one in choice if one.division == own[0].division)
        told = Compass(played.compass, naming).ranges(steps)
        paragraph(console, f"a finger can tell the step of the peak from the note below at {told}")


def _forces(found: Regulated) -> dict[str, float]:
    """The forces that hold the keys at the bottom, N: of the divisions that are played and of those driven."""
    couplers = [found.instrument.couplers[name] for name in found.order]
    used = {name for one in couplers for name in (one.played, one.driven)}
    return {name: one.strokes.dip_force for name, one in found.instrument.divisions.items() if name in used}


def _write(rounds: Sequence[Regulated], stagger: float, pitch: float, options: argparse.Namespace) -> None:
    """Write schedule, lifts, plays and a picture for each coupler, all or none."""
    found = together(rounds)
    units, naming, folder = options.units, found.instrument.naming, options.out
    sheets = [
        schedule_sheet(found.found, naming, units, pitch),
        opening_sheet(found.openings, naming, units, found.wishes, _forces(found)),
    ]
    if math.isfinite(stagger):
        sheets.append(stagger_sheet(found.found, naming, units, stagger))
    texts = {f"{sheet.name}.csv": sheet.csv() for sheet in sheets} | plays_files(found)
    with staged(folder) as made:
        for name, text in texts.items():
            write_text(made / name, text)
        pictures = _draw(rounds, made, units)
    out().print(f"written: {', '.join([*texts, *pictures])} in {folder}", markup=False, soft_wrap=True)
    paragraph(out(), "The plays are read back by these lines of [[coupler]], the folder beside the instrument:")
    for name, line in entries(found, f"{folder.name}/").items():
        out().print(f"  {name}: {line}", markup=False, soft_wrap=True)


def _draw(rounds: Sequence[Regulated], folder: Path, units: System) -> list[str]:
    """A picture for each coupler: the middle note of those that were set."""
    from keyaction.plots.note.coupler_play import coupler_play  # here, because the plotting library is slow to load
    from keyaction.plots.style.files import write_pictures
    from keyaction.sim.coupling.curve import curve

    drawings = []
    for found, name in ((one, name) for one in rounds for name in one.order):
        about = {"title": found.instrument.title, "case_name": found.instrument.path.name}
        notes = [one.note for one in found.found if one.name == name and one.chosen]
        if notes:
            made = curve(found, name, notes[len(notes) // 2])
            heading = f"{name}: peak against lift at {note_name(made.note, found.instrument.naming)} of {made.division}"
            args = (heading, made.plays, made.peaks, made.lifts, made.lift_kept, made.marks, about, units)
            drawings.append((_picture(name), lambda args=args: coupler_play(*args)))
    return [path.name for path in write_pictures(folder, drawings)]


def _cautions(console: Console, found: Regulated, units: System) -> None:
    """Which notes are heavy with what was set, and how to work inside an organ."""
    lines = []
    for division, own in found.by_division.items():
        peaks: dict[int, float] = {}
        for one in own:
            if now := one.chosen or one.stated:
                peaks[one.note] = max(now.peak, peaks.get(one.note, 0.0))
        key = next(part.part for part in found.instrument.divisions[division].parts if part.part.role == "key")
        limit = limit_of(key if issubclass(key, Key) else Key, True)
        if line := heavy_line(peaks, limit, _compass(found.instrument, division).ranges, units):
            lines.append(f"{division}: {line}")
    for line in [*lines, helps(False)] if lines else []:
        paragraph(console, line)
    paragraph(console, INSIDE)


def _judged(console: Console, found: Regulated) -> int:
    """The exit status, and in a sentence which pallets lift less than was asked for."""
    short: dict[tuple[str, str], list[int]] = {}
    for one in found.openings:
        if lacks(one, found.wishes):
            short.setdefault((one.division, one.pallet), []).append(one.note)
    if short:
        told = [
            f"{pallet} at {_compass(found.instrument, division).ranges(notes)} of {division}"
            for (division, pallet), notes in short.items()
        ]
        paragraph(
            console, f"Less lift than was asked for, all these couplers drawn: {'; '.join(told)} (exit status 1)."
        )
    return FAILED if short or any(one.reason for one in found.found) else DONE
