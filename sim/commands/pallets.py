"""keyaction pallets: the smallest pallet of each note that feeds its stops, and what it saves at the finger."""

from __future__ import annotations

import argparse
import math
from collections.abc import Sequence

from keyaction.cases.action.trains import check_trains, select
from keyaction.models.notes import NoteProblem
from keyaction.models.units.quantity import System, UnitProblem, format_value, parse_quantity
from keyaction.sim.commands.chosen import Choice, Subject, choose
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import out, tell
from keyaction.sim.commands.divisions import one_division
from keyaction.sim.commands.historic_told import tell_historic
from keyaction.sim.commands.on_rail import tell_rail
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.figures.verdict import Fate
from keyaction.sim.files.taken import PICTURE, table
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.sizes.sheet import openings_sheet, sizes_sheet, told, touch_sheet
from keyaction.sim.sizes.sized import Sized
from keyaction.sim.sizes.sizes import ShareProblem, check_share, smallest_pallets
from keyaction.sim.tables.sheet import joined
from keyaction.sim.wind.stops import StopProblem, names_of, read_stops


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    choice = choose(options, options.notes)
    choice.each(lambda one: check_trains(one.case, sorted(one.notes)))
    wrong = [*_wrong(options), *_wrong_chord(choice, options.chord), *_wrong_stops(choice, options.stops)]
    if wrong:
        tell("\n".join(wrong))
        return BAD_INPUT
    _refuse_files(choice, options)
    tell_rail(choice, options.units, options.jobs)
    found = [_found(choice, one, options) for one in choice]
    for one, sizes in zip(choice, found, strict=True):
        _show(one, sizes, options)
    _write(choice, found, options)
    unknown = any(size.drawn.verdict.fate is Fate.UNKNOWN for sizes in found for size in sizes)
    return FAILED if unknown else DONE


def _wrong(options: argparse.Namespace) -> list[str]:
    """Numbers and names of files that cannot be."""
    found = [] if options.jobs >= 0 else [f"--jobs {options.jobs}: must be 0 (one per core) or more"]
    try:
        _share(options.share)
    except (UnitProblem, ShareProblem) as problem:
        found.append(f"--share: {problem}")
    if options.plot and options.plot.suffix.lower() != ".png":
        found.append(f"--plot {options.plot}: a picture is a PNG file; give a name that ends in .png")
    return found


def _share(text: str) -> float:
    return check_share(parse_quantity(text, "1"))


def _chord(one: Subject, text: str | None) -> list[int] | None:
    """Notes of the chord, in the order given."""
    return None if text is None else select(one.case, ",".join(text.replace(",", " ").split()))


def _wrong_chord(choice: Choice, text: str | None) -> list[str]:
    found = []
    for one in choice:
        try:
            _chord(one, text)
        except NoteProblem as problem:
            division = f"{one.division}: " if one.division else ""
            found += [f"--chord: {division}{line}" for line in str(problem).split("\n")]
    return found


def _known(*divisions: Subject) -> list[str]:
    """Stops of divisions, as any note of each has them."""
    return names_of(train for one in divisions for train in check_trains(one.case, one.notes[:1]).values())


def _wrong_stops(choice: Choice, stops: str | None) -> list[str]:
    """Stops that no division has."""
    try:
        if stops is not None:
            read_stops(stops, _known(*choice))
    except StopProblem as problem:
        return [f"--{text}" for text in problem.defects]
    return []


def _refuse_files(choice: Choice, options: argparse.Namespace) -> None:
    if options.csv:
        empty = [(one.division, sizes_sheet([], one.case.naming, options.units)) for one in choice]
        refuse_unwritable(options.csv, "--csv", table(joined(empty).csv()))
    if options.plot:
        one_division([one.division for one in choice], "--plot")
        refuse_unwritable(options.plot, "--plot", PICTURE)


def _found(choice: Choice, one: Subject, options: argparse.Namespace) -> tuple[Sized, ...]:
    own, drawn = _known(one), None
    if options.stops is not None and own:
        drawn = [name for name in read_stops(options.stops, _known(*choice)) if name in own]
    chord = _chord(one, options.chord)
    with progress("sizing", 1) as bar:
        found = smallest_pallets(
            one.case, one.notes, drawn, chord, _share(options.share), options.keep_eye, options.jobs
        )
        bar.step(one.title)
    return found


def _show(one: Subject, found: Sequence[Sized], options: argparse.Namespace) -> None:
    console, naming = out(), one.case.naming
    console.print(one.title, style="bold", markup=False)
    if options.chord and not any(size.supply.finite for size in found):
        paragraph(console, "The box holds its pressure however much it feeds: the chord takes nothing from a note.")
    chord = options.chord is not None and any(size.supply.finite for size in found)
    if not all(size.left_out for size in found):
        console.print(sheet_table(openings_sheet(found, naming, options.units, chord)))
        console.print(sheet_table(touch_sheet(found, naming, options.units)))
    for line in _gathered(one, found, options.units):
        paragraph(console, f"- {line}")
    if told_of := saved(found, options.units):
        paragraph(console, told_of)
        tell_historic(one.case, "swap-pallet", "pallet")


def _gathered(one: Subject, found: Sequence[Sized], units: System) -> list[str]:
    """What is to be said of the notes, alike ones together."""
    notes: dict[str, list[str]] = {}
    for size in found:
        for line in told(size, units):
            notes.setdefault(line, []).append(one.name(size.note))
    return [f"{_few(names)}: {line}" for line, names in notes.items()]


def _few(names: Sequence[str]) -> str:
    return ", ".join(names[:6]) + (f" and {len(names) - 6} others" if len(names) > 6 else "")


def saved(found: Sequence[Sized], units: System) -> str:
    """What the smallest openings save, in one sentence; empty where none does."""
    saves = [one.saved for one in found if math.isfinite(one.saved) and one.saved > 0.0]
    if not saves:
        return ""
    shares = [one.saved / one.drawn.pluck for one in found if math.isfinite(one.saved) and one.saved > 0.0]
    forces = _range(format_value(min(saves), "N", units), format_value(max(saves), "N", units))
    part = _range(f"{min(shares):.0%}", f"{max(shares):.0%}")
    return f"The smallest openings save {forces} of the pluck ({part}) at {len(saves)} of {len(found)} notes."


def _range(low: str, high: str) -> str:
    return low if low == high else f"{low} to {high}"


def _write(choice: Choice, found: Sequence[Sequence[Sized]], options: argparse.Namespace) -> None:
    if options.csv:
        pairs = zip(choice, found, strict=True)
        sheets = [(one.division, sizes_sheet(sizes, one.case.naming, options.units)) for one, sizes in pairs]
        write_text(options.csv, joined(sheets).csv())
        out().print(f"table: {options.csv}", markup=False, soft_wrap=True)
    if options.plot:
        from keyaction.plots.compass.pallet_sizes import pallet_sizes  # here, because it loads Matplotlib
        from keyaction.plots.style.files import write_pictures
        from keyaction.sim.sizes.result import sizes_result

        result = sizes_result(choice.chosen[0].case, found[0])
        write_pictures(options.plot.parent, [(options.plot.name, lambda: pallet_sizes(result, options.units))])
        out().print(f"picture: {options.plot}", markup=False, soft_wrap=True)
