"""keyaction check: read a case and show what follows from it before anything is played."""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterator, Mapping, Sequence

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from keyaction.cases.action.case import Case
from keyaction.cases.action.reliance import Chosen, assumptions_of, materials_of
from keyaction.cases.action.trains import raised_by_parts, sound_trains
from keyaction.cases.instrument.coupler_figures import coupler_defects
from keyaction.cases.text.assumed import grouped
from keyaction.models.materials.shown import shown_property, source_of
from keyaction.models.notes import note_name
from keyaction.models.train.train import Train, TrainProblem
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.commands.chosen import Choice, Subject, choose, described
from keyaction.sim.commands.common import BAD_INPUT, DONE
from keyaction.sim.commands.console import err, out
from keyaction.sim.commands.couplers import show_couplers
from keyaction.sim.commands.on_rail import rail_said
from keyaction.sim.commands.sheet_tables import paragraph
from keyaction.sim.compare import case_guides
from keyaction.sim.figures.columns import QUANTITIES, of_verdict
from keyaction.sim.figures.sketch import sketch, static_pluck
from keyaction.sim.figures.stages import told as told_stages
from keyaction.sim.figures.telling import sentence, why_none
from keyaction.sim.run.checking import warnings
from keyaction.sim.run.standings import Standing, standings


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    if options.spreads and (options.case is None or options.published):
        err().print("--spreads: a case is needed, and no --published beside it", markup=False)
        return BAD_INPUT
    if options.published or options.csv or options.case is None:
        from keyaction.sim.commands import published  # here, because a case is checked without it

        return published.act(options)
    choice = choose(options).one_note(options.note)
    console = out()
    if options.spreads:
        from keyaction.sim.commands.spreads import print_spreads  # here, because distributions load SciPy

        for one in choice:
            _heading(console, choice, one, options.units)
            print_spreads(console, one.case, options.units)
        return DONE
    for one, (trains, raised, note) in zip(choice, _all_trains(choice, options), strict=True):
        _heading(console, choice, one, options.units)
        _show(console, one.case, trains, raised, note, options)
        for line in rail_said(one.case, [note], options.units):
            paragraph(console, line)
    return DONE


def _all_trains(
    choice: Choice, options: argparse.Namespace
) -> list[tuple[Mapping[int, Train], Mapping[int, str], int]]:
    """What `_trains` gives of each, the defects of all divisions and of the couplers gathered."""
    defects = coupler_defects(choice.instrument) if choice.instrument else []
    try:
        found = choice.each(lambda one: _trains(one, options))
    except TrainProblem as problem:
        raise TrainProblem([*problem.defects, *defects]) if defects else problem from None
    if defects:
        raise TrainProblem(defects)
    return found


def _heading(console: Console, choice: Choice, one: Subject, units: System) -> None:
    """Before what is shown of a division: its name, and before the first that of the instrument and its couplers."""
    if choice.instrument is None:
        return
    if one is choice.chosen[0]:
        told = f"{choice.instrument.path.name}: {choice.instrument.title}"
        console.print(told, style="bold", markup=False)
        for line in described(choice.instrument):
            console.print(line, markup=False)
        show_couplers(console, choice.instrument, units)
    console.print(f"\nDivision {one.division}", style="bold", markup=False)


def _trains(one: Subject, options: argparse.Namespace) -> tuple[Mapping[int, Train], Mapping[int, str], int]:
    """The trains of all notes, why others cannot be built, and the note that is shown."""
    case = one.case
    trains = sound_trains(case, case.compass)
    raised = raised_by_parts(case, [note for note in case.compass if note not in trains])
    usual = list(trains or case.compass)
    note = one.notes[0] if options.note else usual[len(usual) // 2]
    if note in raised:
        raise TrainProblem([f"{raised[note]} (note {note_name(note, case.naming)})"])
    return trains, raised, note


def _show(
    console: Console,
    case: Case,
    trains: Mapping[int, Train],
    raised: Mapping[int, str],
    note: int,
    options: argparse.Namespace,
) -> None:
    first, last = (note_name(n, case.naming) for n in (case.compass[0], case.compass[-1]))
    console.print(f"{case.path.name}: {case.title}", style="bold", markup=False)
    console.print(
        f"{len(case.compass)} notes, {first} to {last}; note {note_name(note, case.naming)} is shown", markup=False
    )
    if case.historic is not None:
        paragraph(console, case.historic.told())
    console.print()
    print(sketch(trains[note], options.units))
    console.print()
    stand = standings(trains, case.strokes)
    for line in _promise(stand[note], options.units):
        console.print(line, markup=False, soft_wrap=False)
    for line in case_guides.sentences(stand[note], options.units):
        console.print(line, markup=False, soft_wrap=False)
    console.print()
    console.print(_figures(trains[note], options.units))
    console.print(_materials(materials_of(case)))
    console.print(_assumptions(case, options.units))
    found = [f"{note_name(one, case.naming)} cannot be played: {why}" for one, why in raised.items()]
    found += [*warnings(case, stand), *case_guides.warned(case, stand)]
    console.print(f"Warnings: {len(found)}", style="bold")
    for line in found:
        paragraph(console, f"- {line}")


def _promise(standing: Standing, units: System) -> list[str]:
    """What the note does before it is played in earnest."""
    pallet = standing.train.role("pallet").values.derived
    lines = [sentence(standing.verdict), *_pressed(standing, units)]
    if standing.pressed is not None and (stages := told_stages(standing.pressed, units)):
        lines.append(stages)
    lines.append(
        f"By levers alone, without friction and the weights of key and rods: pluck "
        f"{format_value(static_pluck(standing.train), 'N', units)}; at the eye wind "
        f"{format_value(pallet['wind_at_eye'].value, 'N', units)}, spring less weight "
        f"{format_value(pallet['closing_no_wind'].value, 'N', units)}."
    )
    return lines


_PRESSED = (
    ("pluck at {pluck_point} with {pluck_force}", ("pluck_point", "pluck_force")),
    ("follow-through {follow_through_force}", ("follow_through_force",)),
    ("friction {friction_at_key}", ("friction_at_key",)),
    ("pallet lift {steady_lift}", ("steady_lift",)),
)
"""What is said of the slow press, and the figures that it takes."""
_FELT = tuple(name for _, names in _PRESSED for name in names)


def _either(words: Sequence[str]) -> str:
    *first, last = words
    return f"{', '.join(first)} or {last}" if first else last


def _pressed(standing: Standing, units: System) -> Iterator[str]:
    """What the slow press gives, and why it does not give the rest."""
    if standing.pressed is None:
        return
    found = of_verdict({name: QUANTITIES[name].compute(standing.pressed) for name in _FELT}, standing.verdict)
    there = {
        name: format_value(value, QUANTITIES[name].unit, units) for name, value in found.items() if math.isfinite(value)
    }
    words = [told for told, names in _PRESSED if all(name in there for name in names)]
    if words:
        yield f"Pressed slowly: {', '.join(words)}.".format(**there)
    lacking: dict[str, list[str]] = {}
    for name, value in found.items():
        if why := why_none(name, value, standing.verdict):
            lacking.setdefault(why, []).append(QUANTITIES[name].label)
    yield from (f"No {_either(labels)}: {why}." for why, labels in lacking.items())


_QUIET = ("cos_turn", "sin_turn", "give_near", "give_far")
"""Figures that follow from another one that is shown."""


def _table(title: str, *columns: tuple[str, int, bool]) -> Table:
    table = Table(title=title, title_justify="left", width=80, box=SIMPLE_HEAD, show_edge=False, pad_edge=False)
    for heading, width, right in columns:
        table.add_column(heading, width=width, justify="right" if right else "left")
    return table


def _figures(train: Train, units: System) -> Table:
    table = _table("Derived figures", ("part, figure", 36, False), ("value", 15, True), ("from", 25, False))
    for part in train.parts:
        table.add_row(f"[bold]{part.name}[/bold] ({part.kind})", "", "")
        for item in part.values.derived.values():
            if item.name in _QUIET or (item.value == 0 and item.origin.startswith("default")):
                continue
            table.add_row(f"  {item.doc}", _value(item.value, item.unit, units), escape(item.origin))
    return table


def _value(value: float, unit: str, units: System) -> str:
    if not unit:
        return f"{value:.4g}"
    if units == "trade" and unit == "N" and abs(value) >= 500:
        return f"{value / 1000:.4g} kN"
    if units == "trade" and unit == "Pa" and abs(value) >= 1e6:  # a stress, no wind
        return f"{value / 1e6:.4g} MPa"
    if units == "trade" and unit == "m^3" and abs(value) < 5e-4:
        return f"{value * 1e6:.4g} cm³"
    return format_value(value, unit, units)


_ALWAYS = ("E", "density")
_TOLD = (*_ALWAYS, "G", "stiffness", "alpha", "coefficient")
"""Properties that are told of a material that was chosen: some always, the others where figures come of them."""


def _materials(chosen: Sequence[Chosen]) -> Table:
    """What stands for every material of the case: species or make, who uses it, figures with their sources."""
    table = _table("\nMaterials: what was chosen", ("material, figures", 24, False), ("what it is, sources", 54, False))
    for one in chosen:
        table.add_row(f"[bold]{escape(one.material.name)}[/bold]", escape(_told(one)))
        for figures, source in _sourced(one):
            table.add_row(escape(figures), escape(source))
    return table


def _told(one: Chosen) -> str:
    """What it is, for which parts, what the case calls it, and what else that could mean."""
    told = f"{one.material.description or one.material.kind}: {', '.join(one.parts)}"
    if one.written:
        others = f", not {' or '.join(one.namesakes)}" if one.namesakes else ""
        told += f". Written {' and '.join(map(repr, one.written))}, which is taken for this{others}"
    return told


def _sourced(one: Chosen) -> list[tuple[str, str]]:
    """Figures with their source; those of one source share a row."""
    rows: dict[str, list[str]] = {}
    for name in (name for name in _TOLD if name in one.material and (name in _ALWAYS or name in one.uses)):
        found = one.material[name]
        rows.setdefault(source_of(found), []).append(f"{name} {shown_property(name, found)}")
    return [("\n".join(f"  {figure}" for figure in figures), source) for source, figures in rows.items()]


def _assumptions(case: Case, units: System) -> Table:
    """Equal assumptions of several parts share a line."""
    table = _table(
        "\nAssumptions: what the case left to the program",
        ("field", 20, False),
        ("value: source", 34, False),
        ("of", 22, False),
    )
    for field, told, owners in grouped(assumptions_of(case, units)):
        table.add_row(field, escape(told), escape(owners))
    return table
