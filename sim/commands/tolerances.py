"""keyaction tolerances: which tolerance is felt, which is worth paying for, what is left of a stagger."""

from __future__ import annotations

import argparse
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from rich.console import Console

from keyaction.cases.action.trains import check_trains
from keyaction.cases.instrument.coupler import slug
from keyaction.cases.instrument.drawn import CouplerProblem, drawn_couplers
from keyaction.cases.instrument.instrument import Instrument
from keyaction.cases.study.spreads import uncertain
from keyaction.cases.text.near import hint
from keyaction.models.notes import note_name
from keyaction.models.units.quantity import UnitProblem, parse_quantity
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.commands.caution import CAUTION
from keyaction.sim.commands.chosen import Choice, Subject, choose
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import out, tell
from keyaction.sim.commands.divisions import NotChosen
from keyaction.sim.commands.on_rail import tell_rail
from keyaction.sim.commands.progress import Bar, progress
from keyaction.sim.commands.sheet_tables import paragraph, show_sheet
from keyaction.sim.files.folders import refuse_unusable, staged
from keyaction.sim.tables.sheet import Sheet, joined
from keyaction.sim.tolerances.coupled import Coupled, coupled_staggers
from keyaction.sim.tolerances.figures import BY_NAME, NAMES
from keyaction.sim.tolerances.sheets import (
    SHOWN,
    coupled_sheet,
    effects_sheet,
    notes_sheet,
    scatter_sheet,
    stagger_sheet,
    steps_sheet,
    worth_sheet,
)
from keyaction.sim.tolerances.stagger import STAGGER
from keyaction.sim.tolerances.told import answers, coupled_told
from keyaction.sim.tolerances.tolerances import Asked, Tolerances, tolerances

_MOST_DRAWS, _MOST_FULL, _WIDEST = 1_000_000, 10_000, 0.01
_FILES = ("sensitivities", "scatter", "steps", "worth", "stagger")
_MOST_STEPS = 16
"""Steps and notes that a terminal shows; of more those that are beyond the limit most often, and the ends."""


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    need_numba()
    choice, couplers = _chosen(options)
    choice.each(lambda one: check_trains(one.case, sorted(one.notes)))
    asked, figures, wrong = _asked(options, choice)
    if wrong:
        tell("\n".join(wrong))
        return BAD_INPUT
    _refuse_files(options)
    tell_rail(choice, options.units, options.jobs)
    made = [_made(one, asked, options) for one in choice]
    coupled = _coupled(choice, couplers, asked, options)
    for one, found in zip(choice, made, strict=True):
        _show(out(), one, found, figures, options)
    _show_coupled(out(), choice, coupled, asked, options)
    paragraph(out(), CAUTION)
    _write(choice, made, coupled, asked, options)
    return FAILED if any(found.found.failed for found in made) else DONE


def _chosen(options: argparse.Namespace) -> tuple[Choice, tuple[str, ...]]:
    """What is looked at, each note alone, and the couplers whose plucks are drawn."""
    names = options.coupled
    options.coupled = None
    choice = choose(options, options.notes)
    if names is None:
        return choice, ()
    if choice.instrument is None:
        raise NotChosen(f"--coupled {names}: {options.case} is an action case and has no couplers; name an instrument")
    return choice, drawn_couplers(choice.instrument, names)


# -- what is asked ------------------------------------------------------------------------------------------
@dataclass
class _Reader:
    """Options that are quantities; every slip is kept."""

    options: argparse.Namespace
    wrong: list[str]

    def number(self, name: str, unit: str, usual: float, low: float, high: float) -> float:
        """A quantity above `low` and up to `high`; the usual one without the option."""
        text = getattr(self.options, name)
        if text is None:
            return usual
        try:
            found = parse_quantity(text, unit)
        except UnitProblem as problem:
            self.wrong.append(f"--{name}: {problem}")
            return usual
        if not low < found <= high:
            ends = (f"{1e3 * end:g} mm" if unit == "m" else f"{100 * end:g} %" for end in (low, high))
            self.wrong.append(f"--{name} {text}: allowed is above {' up to '.join(ends)}")
        return found

    def count(self, name: str, low: int, high: int) -> int:
        """A whole number."""
        found = int(getattr(self.options, name))
        if not low <= found <= high:
            self.wrong.append(f"--{name} {found}: {low} to {high} are possible")
        return found


def _asked(options: argparse.Namespace, choice: Choice) -> tuple[Asked, list[str], list[str]]:
    """What is asked, the figures that are shown, and every defect."""
    wrong: list[str] = []
    reader = _Reader(options, wrong)
    names = [word.strip() for word in options.figure.split(",") if word.strip()]
    wrong += [
        f"--figure {name}: no such figure{hint(name, NAMES)}; there are {', '.join(NAMES)}"
        for name in names
        if name not in BY_NAME
    ]
    first = BY_NAME.get(names[0]) if names else None
    if not names:
        wrong.append(f"--figure: no figure is named; there are {', '.join(NAMES)}")
    limit = math.nan
    if options.limit is not None and first:
        if first.unit == "J":
            wrong.append(f"--limit {options.limit}: steps of an energy are not felt; leave it out, or ask for a force")
        elif first.relative:
            limit = reader.number("limit", "1", math.nan, 0.0, 1.0)
        else:
            limit = reader.number("limit", "m", math.nan, 0.0, _WIDEST)
    if first and first.unit == "J":
        wrong.append(f"--figure {first.name}: nothing says which step of it counts; name a force or a length first")
    allow, stagger = (
        reader.number("allow", "1", math.nan, 0.0, 1.0),
        reader.number("stagger", "m", STAGGER, 0.0, _WIDEST),
    )
    if options.jobs < 0:
        wrong.append(f"--jobs {options.jobs}: must be 0 (one per core) or more")
    if options.seed < 0:
        wrong.append(f"--seed {options.seed}: must be 0 or more")
    draws, full = reader.count("draws", 100, _MOST_DRAWS), reader.count("full", 0, _MOST_FULL)
    wrong += _unknown(options.tolerance, choice)
    shown = names if len(names) > 1 else list(dict.fromkeys([*names, *SHOWN]))[: len(SHOWN)]
    off = options.wind_off or any(name in BY_NAME and BY_NAME[name].off for name in names)
    kept = first.name if first else "pluck"
    made = Asked(kept, limit, allow, options.tolerance or "", stagger, draws, full, off, options.seed)
    return made, shown, wrong


def _unknown(name: str | None, choice: Choice) -> list[str]:
    """Complain where a division has no tolerance of the name."""
    found = []
    for one in choice if name else ():
        names = [doubt.name for doubt in uncertain(one.case, one.notes)]
        if name not in names:
            where = f"{one.division}: " if one.division else ""
            found.append(f"--tolerance {name}: {where}no such tolerance{hint(str(name), names)}; see check --spreads")
    return found


def _refuse_files(options: argparse.Namespace) -> None:
    """Complain about folders that cannot be written before anything is computed."""
    if options.out:
        refuse_unusable(options.out)
    if options.plots:
        refuse_unusable(options.plots)


# -- what is found ------------------------------------------------------------------------------------------
def _made(one: Subject, asked: Asked, options: argparse.Namespace) -> Tolerances:
    with progress("pressing", len(one.notes)) as bar:
        return tolerances(
            one.case, one.notes, asked, options.jobs, lambda words, done, total: bar.at(done, total, words)
        )


def _coupled(choice: Choice, couplers: Sequence[str], asked: Asked, options: argparse.Namespace) -> list[Coupled]:
    found: list[Coupled] = []
    for name in couplers:
        instrument, notes = _few_notes(choice, name)
        draws = max(2 * asked.full, 2)
        with progress(f"drawing {name}", len(notes)) as bar:
            told = partial(_told, bar, choice)
            found += coupled_staggers(instrument, name, notes, asked.stagger, draws, asked.seed, options.jobs, told)
    return found


def _told(bar: Bar, choice: Choice, note: int) -> None:
    bar.step(note_name(note, choice.naming))


def _few_notes(choice: Choice, name: str) -> tuple[Instrument, list[int]]:
    """Lowest, middle and highest of the chosen notes from which a coupler is played.

    Raises
    ------
    CouplerProblem
        If no note of that division is chosen.
    """
    instrument = choice.instrument
    assert instrument is not None  # couplers were found in it
    coupler = instrument.couplers[name]
    notes = [note for one in choice if one.division == coupler.played for note in sorted(one.notes)]
    if not notes:
        raise CouplerProblem([f"--coupled {name}: it is played from {coupler.played}; choose notes of it"])
    return instrument, sorted({notes[0], notes[len(notes) // 2], notes[-1]})


# -- what is shown ------------------------------------------------------------------------------------------
def _show(
    console: Console, one: Subject, made: Tolerances, figures: Sequence[str], options: argparse.Namespace
) -> None:
    units, naming = options.units, one.case.naming
    console.print(one.title, style="bold", markup=False)
    for line in answers(made, units):
        paragraph(console, f"- {line}")
    for note, why in made.found.failed.items():
        tell(f"{one.name(note)}: not pressed: {why}")
    if made.worths.ranked:
        show_sheet(console, worth_sheet(made))
    there = [name for name in figures if made.found.has(name).any()]
    if there:
        show_sheet(console, effects_sheet(made.found, there, units, options.full_width))
    sheet = steps_sheet(made, naming, units)
    if sheet.rows:
        show_sheet(console, _shorter(sheet))
    if made.points:
        show_sheet(console, stagger_sheet(made, naming, units, _ends([point.note for point in made.points])))


def _shorter(sheet: Sheet) -> Sheet:
    """A sheet of steps, of many those that are beyond the limit most often."""
    if len(sheet.rows) <= _MOST_STEPS:
        return sheet
    order = sorted(range(len(sheet.rows)), key=lambda row: -float(sheet.rows[row][4]))[:_MOST_STEPS]
    title = f"{sheet.title}: {_MOST_STEPS} of {len(sheet.rows)}, those beyond the limit most often"
    return Sheet(sheet.name, title, sheet.columns, [sheet.rows[row] for row in sorted(order)], sheet.note)


def _ends(notes: Sequence[int]) -> list[int]:
    """Every note of a few, of many those that stand for all."""
    if len(notes) <= _MOST_STEPS:
        return list(notes)
    step = max(len(notes) // 6, 1)
    return sorted({*notes[::step], notes[-1]})


def _show_coupled(
    console: Console, choice: Choice, found: Sequence[Coupled], asked: Asked, options: argparse.Namespace
) -> None:
    if not found:
        return
    naming = choice.naming
    console.print("Coupled plucks", style="bold")
    for line in coupled_told(found, lambda note: note_name(note, naming), asked.stagger, options.units):
        paragraph(console, f"- {line}")
    sheet = coupled_sheet(found, naming, options.units, asked.stagger)
    if sheet.rows:
        show_sheet(console, sheet)


# -- what is written ----------------------------------------------------------------------------------------
def _write(
    choice: Choice, made: Sequence[Tolerances], coupled: Sequence[Coupled], asked: Asked, options: argparse.Namespace
) -> None:
    if options.out:
        sheets = _sheets(choice, made, options)
        if coupled:
            sheets.append(coupled_sheet(coupled, choice.naming, options.units, asked.stagger))
        with staged(options.out) as folder:
            for sheet in sheets:
                (folder / f"{sheet.name}.csv").write_text(sheet.csv(), encoding="utf-8")
        written = ", ".join(f"{sheet.name}.csv" for sheet in sheets)
        out().print(f"written: {written} in {options.out}", markup=False, soft_wrap=True)
    if options.plots:
        from keyaction.plots.style.files import write_pictures  # here, because the plotting library is slow to load
        from keyaction.plots.tolerances.save import drawings

        found = [
            each
            for one, done in zip(choice, made, strict=True)
            for each in drawings(done, one.title, f"-{slug(one.division)}" if one.division else "", options.units)
        ]
        paths = write_pictures(options.plots, found)
        out().print(
            f"pictures: {', '.join(path.name for path in paths)} in {options.plots}", markup=False, soft_wrap=True
        )


def _sheets(choice: Choice, made: Sequence[Tolerances], options: argparse.Namespace) -> list[Sheet]:
    units = options.units
    kinds: list[list[tuple[str, Sheet]]] = [[] for _ in _FILES]
    for one, done in zip(choice, made, strict=True):
        naming = one.case.naming
        sheets = (
            notes_sheet(done.found, naming, units, options.full_width),
            scatter_sheet(done.found, naming, units),
            steps_sheet(done, naming, units),
            worth_sheet(done, len(done.found.doubts)),
            stagger_sheet(done, naming, units),
        )
        for kind, sheet in zip(kinds, sheets, strict=True):
            kind.append((one.division, sheet))
    return [joined(kind) for kind in kinds]
