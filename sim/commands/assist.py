"""keyaction assist: ways to relieve a heavy bass side by side, note by note."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import replace

from keyaction.cases.action.trains import check_trains
from keyaction.cases.text.near import hint
from keyaction.models.notes import note_name
from keyaction.sim.assist.assisted import Assisted, assisted
from keyaction.sim.assist.sheet import assist_sheet, speech_sheet, touch_sheet
from keyaction.sim.assist.told import said
from keyaction.sim.assist.versions import AS_IS, VERSIONS
from keyaction.sim.commands.caution import CAUTION, INSIDE
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
from keyaction.sim.tables.sheet import joined

OCTAVE = 12
"""Notes that are tried unless others are named: the lowest, where the wind is heaviest."""
_WAYS = tuple(name for name in VERSIONS if name != AS_IS)


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    choice = choose(options, options.notes)
    if options.notes is None:
        lowest = tuple(replace(one, notes=sorted(one.notes)[:OCTAVE]) for one in choice)
        choice = replace(choice, chosen=lowest)
    choice.each(lambda one: check_trains(one.case, sorted(one.notes)))
    only = _listed(options.only)
    wrong = _wrong(options, only)
    if wrong:
        tell("\n".join(wrong))
        return BAD_INPUT
    _refuse_files(choice, options)
    tell_rail(choice, options.units, options.jobs)
    found = [_found(one, only, options.jobs) for one in choice]
    for one, tried in zip(choice, found, strict=True):
        _show(one, tried, options)
    _write(choice, found, options)
    return FAILED if any(_unknown(one) for tried in found for one in tried) else DONE


def _unknown(one: Assisted) -> bool:
    """Whether it is the train as it is, of which nothing is known."""
    return one.version == AS_IS and bool(one.why) and one.verdict.fate is Fate.UNKNOWN


def _listed(text: str | None) -> list[str]:
    return [name.strip().lower() for name in (text or "").split(",") if name.strip()]


def _wrong(options: argparse.Namespace, only: Sequence[str]) -> list[str]:
    """Versions that there are not, and numbers and names of files that cannot be."""
    found = [f"--only: there is no way of relief '{name}'{hint(name, _WAYS)}" for name in only if name not in _WAYS]
    if options.only is not None and not only:
        found.append(f"--only: name one or more of {', '.join(_WAYS)}")
    if options.jobs < 0:
        found.append(f"--jobs {options.jobs}: must be 0 (one per core) or more")
    if options.plot and options.plot.suffix.lower() != ".png":
        found.append(f"--plot {options.plot}: a picture is a PNG file; give a name that ends in .png")
    return found


def _refuse_files(choice: Choice, options: argparse.Namespace) -> None:
    if options.csv:
        empty = [(one.division, assist_sheet([], one.case.naming, options.units)) for one in choice]
        refuse_unwritable(options.csv, "--csv", table(joined(empty).csv()))
    if options.plot:
        one_division([one.division for one in choice], "--plot")
        refuse_unwritable(options.plot, "--plot", PICTURE)


def _found(one: Subject, only: Sequence[str], jobs: int) -> tuple[Assisted, ...]:
    count = len(one.notes) * (1 + len(only or _WAYS))
    with progress("playing", count) as bar:
        return assisted(one.case, one.notes, only, jobs, lambda note, version: bar.step(f"{one.name(note)}, {version}"))


def _show(one: Subject, found: Sequence[Assisted], options: argparse.Namespace) -> None:
    console, naming, units = out(), one.case.naming, options.units
    console.print(one.title, style="bold", markup=False)
    console.print(sheet_table(touch_sheet(found, naming, units)))
    console.print(sheet_table(speech_sheet(found, naming, units)))
    console.print()
    for line in said(found, naming, units):
        paragraph(console, f"- {line}")
    tell_historic(one.case, "add-relief", "pallet")
    if any(tried.sizes for tried in found):
        paragraph(console, CAUTION)
        paragraph(console, INSIDE)


def _write(choice: Choice, found: Sequence[Sequence[Assisted]], options: argparse.Namespace) -> None:
    if options.csv:
        pairs = zip(choice, found, strict=True)
        sheets = [(one.division, assist_sheet(tried, one.case.naming, options.units)) for one, tried in pairs]
        write_text(options.csv, joined(sheets).csv())
        out().print(f"table: {options.csv}", markup=False, soft_wrap=True)
    if options.plot:
        from keyaction.plots.note.relief import Curve, relief  # here, because it loads Matplotlib
        from keyaction.plots.style.files import write_pictures
        from keyaction.sim.motion.integrate import Tolerances
        from keyaction.sim.run.about import about

        subject, first = choice.chosen[0], found[0][0].note
        curves = [Curve(one.version, one.travel, one.force) for one in found[0] if one.note == first]
        heading = f"Relief of the pallet, {note_name(first, subject.case.naming)}"
        told = about(subject.case, Tolerances())
        write_pictures(options.plot.parent, [(options.plot.name, lambda: relief(heading, curves, told, options.units))])
        out().print(f"picture: {options.plot}", markup=False, soft_wrap=True)
