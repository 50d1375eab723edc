"""The sheets of a comparison: over the compass, one note, note by note, the trackers, and what can be felt."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from keyaction.models.formulas.spans import REPETITION_BAND, SMALL_SAG
from keyaction.models.units.quantity import System, convert, format_value
from keyaction.sim.compare.advice import guide_advice
from keyaction.sim.compare.rod_facts import FACTS
from keyaction.sim.compare.trackers import OF_TRACKERS
from keyaction.sim.figures.columns import QUANTITIES, forces_felt
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.figures.registry import Entry, Table, in_table
from keyaction.sim.figures.verdict import Fate, alike
from keyaction.sim.files.labelled import Result
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

_ROD_FACTS = tuple(name for name in FACTS if name not in ("rod_mass", "rod_wave", "rod_stiffness"))


def _entries(result: Result, table: Table) -> list[Entry]:
    """What stands in a table of the comparison, of what the result holds."""
    return [one for one in in_table(table, (*QUANTITIES.values(), *OF_TRACKERS.values())) if one.name in result]


def figures_of(result: Result) -> list[str]:
    """Names of the figures that are set side by side, those that the finger meets first."""
    return [entry.name for entry in _entries(result, "compared")]


@dataclass(frozen=True)
class Felt:
    """How far a variant's force is from the first's, at the note where it is furthest.

    Attributes
    ----------
    apart : float
        The largest difference, as a share of the first's; NaN where one of them has no figure.
    count, of, lacking : int
        Notes at which it can be felt, of how many, and those at which one of them has no figure.
    """

    variant: int
    figure: str
    apart: float
    note: str
    count: int
    of: int
    lacking: int = 0

    @property
    def felt(self) -> bool:
        return self.count > 0


def felt(result: Result) -> list[Felt]:
    """The differences of force of every variant but the first."""
    found = []
    for v in range(1, len(result["variant"])):
        for name in forces_felt():
            apart = np.asarray(result[f"{name}_apart"][v], dtype=float)
            there = np.isfinite(apart)
            most = int(np.argmax(np.where(there, np.abs(apart), -1.0)))
            at = (float(apart[most]), result.notes[most]) if np.any(there) else (float("nan"), "")
            beyond = int(np.count_nonzero(np.abs(apart[there]) > JUST_NOTICEABLE))
            of = int(np.count_nonzero(there))
            found.append(Felt(v, name, *at, beyond, of, len(apart) - of))
    return found


def verdict(result: Result, one: Felt) -> str:
    """A difference of force in words."""
    what, name = result.variables[one.figure].label, f"{result['letter'][one.variant]} against {result['letter'][0]}"
    if not one.of:
        return f"{name}: {what} cannot be compared: no note has it in both"
    size = f"{what} differs by up to {100 * one.apart:+z.2f}\u00a0% (at {one.note})"
    if one.felt:
        told = f"{size}: beyond {_SHARE}, which a finger can tell, at {one.count} of {one.of} notes"
    elif abs(one.apart) < _SAME:
        told = f"{what} is the same"
    else:
        told = f"{size}: below the {_SHARE} that a finger can tell"
    lacking = f"; {one.lacking} note{'s' * (one.lacking != 1)} cannot be compared" if one.lacking else ""
    return f"{name}: {told}{lacking}"


def fates(result: Result) -> list[str]:
    """What is wrong with notes of the variants, where they could be played."""
    lines = []
    for v, letter in enumerate(result["letter"]) if "verdict" in result else ():
        played = zip(result.notes, result["status"][v], result["verdict"][v], strict=True)
        known = {n: str(told) for n, status, told in played if status == "ok" or told != Fate.UNKNOWN.value}
        lines += [f"{letter}: {line}" for line in alike(known)]
    return lines


def legend(result: Result, units: System = "trade") -> list[str]:
    """Every variant's letter, name, and what differs between them; of one alone the sections of its rods."""
    differs = json.loads(result.about.get("differs", "{}")).get(units, [])
    if any(differs):
        named = zip(result["letter"], result["variant"], differs, strict=True)
        return [f"{letter}  {name}{f' ({told})' if told else ''}" for letter, name, told in named]
    lines, pushed = [], "rod_kind" in result and "sticker" in result["rod_kind"]
    for v, (letter, name) in enumerate(zip(result["letter"], result["variant"], strict=True)):
        made = ""
        if "rod_section" in result:
            kinds = dict.fromkeys(zip(result["rod_material"][v], result["rod_section"][v], strict=True))
            made = f": {'rods' if pushed else 'trackers'} " + "; ".join(
                f"{material}, {section}" for material, section in kinds
            )
        lines.append(f"{letter}  {name}{made}")
    return lines


def _letters(result: Result) -> list[Column]:
    return [Column(str(letter)) for letter in result["letter"]]


def _quantity(result: Result, name: str, units: System) -> list[Cell]:
    """Label and unit of a figure."""
    variable = result.variables[name]
    return [variable.label, convert(1.0, variable.unit or "1", units)[1]]


def note_sheet(result: Result, note: str, units: System) -> Sheet:
    """All figures of one note, the variants side by side."""
    i = result.index(note)
    rows: list[list[Cell]] = []
    for name in figures_of(result):
        si, unit = result[name][:, i], result.variables[name].unit
        marked = [_mark(result, name, v, i, value(x, unit, units)) for v, x in enumerate(si)]
        rows.append([*_quantity(result, name, units), *marked])
    columns = [Column("figure", text=True), Column("unit", text=True), *_letters(result)]
    return Sheet(f"note-{note}", f"Note {note}", columns, rows, MARK)


def budget_sheet(result: Result, note: str, units: System) -> Sheet:
    """What gives way before the pluck, and the effective mass at the key, at one note."""
    i = result.index(note)
    rows: list[list[Cell]] = []
    for kind, axis, words in (("compliance_budget", "give", "gives way"), ("mass_budget", "part", "effective mass")):
        unit = result.variables[kind].unit
        for j, name in enumerate(result[axis]):
            row = [value(x, unit, units) for x in result[kind][:, i, j]]
            if np.any(np.isfinite(row)):
                rows.append([f"{words}: {name}", convert(1.0, unit, units)[1], *row])
    columns = [Column("share", text=True), Column("unit", text=True), *_letters(result)]
    title = f"Note {note}: key travel that gives way before the pluck, and effective mass at the key"
    return Sheet(f"budgets-{note}", title, columns, rows)


_SAME = 5e-5
"""Share below which a difference is printed as none."""
_SHARE = f"{JUST_NOTICEABLE:.0%}".replace("%", "\u00a0%")  # no line break before the sign
MARK = (
    f"! force differs from the first variant's by more than {_SHARE}, which a finger can tell (Pang, Tan and Durlach "
    "1991, measured at 2.5 to 10 N). A force without the mark differs by less, where it and the first variant's are "
    "there to be compared. For other figures no such limit is used."
)


def _mark(result: Result, name: str, v: int, i: int, shown: float) -> Cell:
    """A force that can be told from the first variant's becomes a text with its mark."""
    if name in forces_felt() and abs(result[f"{name}_apart"][v, i]) > JUST_NOTICEABLE:
        return f"{format_value(shown, '1')} !"
    return shown


def compass_sheet(result: Result, units: System) -> Sheet:
    """Lowest and highest value of every figure over the compass, the variants side by side."""
    columns = [Column("figure", text=True), Column("unit", text=True)]
    for letter in result["letter"]:
        columns += [Column(f"{letter}\nlowest"), Column(f"{letter}\nhighest")]
    rows = []
    for name in figures_of(result):
        row = _quantity(result, name, units)
        for si in result[name]:
            there = si[np.isfinite(si)]
            ends = (np.min(there), np.max(there)) if len(there) else (np.nan, np.nan)
            row += [value(end, result.variables[name].unit, units) for end in ends]
        rows.append(row)
    return Sheet("compass", "Over the compass, lowest and highest", columns, rows)


def ranges_sheet(result: Result, units: System) -> Sheet:
    """The same with both ends of each range in one cell, for where there is little room."""
    wide = compass_sheet(result, units)
    rows: list[list[Cell]] = []
    for row in wide.shown():
        ends = zip(row[2::2], row[3::2], strict=True)
        rows.append([*row[:2], *(low if low == high else f"{low}\u2013{high}" for low, high in ends)])
    columns = [*wide.columns[:2], *(Column(str(letter)) for letter in result["letter"])]
    return Sheet(wide.name, wide.title, columns, rows)


def notes_sheet(result: Result, units: System) -> Sheet:
    """One row per note; each figure of every variant, and how far the forces are apart."""
    columns = [Column("note", text=True)]
    for name in figures_of(result):
        variable = result.variables[name]
        columns += [in_units(f"{variable.label}\n{letter}", variable.unit, units) for letter in result["letter"]]
    for name in forces_felt():
        label, first = result.variables[name].label, result["letter"][0]
        columns += [Column(f"{label}\n{letter} against {first}", "%", 1) for letter in result["letter"][1:]]
    rows: list[list[Cell]] = []
    for i, note in enumerate(result.notes):
        row: list[Cell] = [note]
        for name in figures_of(result):
            row += [value(x, result.variables[name].unit, units) for x in result[name][:, i]]
        for name in forces_felt():
            row += [float(100 * x) for x in result[f"{name}_apart"][1:, i]]
        rows.append(row)
    return Sheet("notes", "Note by note", columns, rows, MARK)


def brief_sheet(result: Result, units: System, most: int) -> Sheet:
    """One row per note with as many figures as fit into `most` columns; forces that can be told apart are marked."""
    entries = _entries(result, "brief")[: max(most // len(result["letter"]), 1)]
    columns = [Column("note", text=True)]
    for entry in entries:
        for k, letter in enumerate(result["letter"]):
            column = in_units(f"{entry.heading if k == 0 else ''}\n{letter}", entry.quantity.unit, units, entry.places)
            columns.append(replace(column, full=f"{entry.heading} {letter}"))
    names, rows = [entry.name for entry in entries], list[list[Cell]]()
    for i, note in enumerate(result.notes):
        row: list[Cell] = [note]
        for name in names:
            unit, at = result.variables[name].unit, len(row)
            for v, x in enumerate(result[name][:, i]):
                shown: Cell = value(x, unit, units)
                if name in forces_felt() and abs(result[f"{name}_apart"][v, i]) > JUST_NOTICEABLE:
                    shown = columns[at + v].shown(shown) + "!"
                row.append(shown)
        rows.append(row)
    words = f"{MARK} Mass: effective mass at the key front." if "effective_mass" in names else MARK
    return Sheet("brief", "Note by note", columns, rows, words)


def _facts(result: Result) -> list[str]:
    """Names of the facts that the result holds: one of an earlier version has others."""
    return [name for name in FACTS if name in result]


def rods_sheet(result: Result, units: System, notes: Sequence[str] | None = None) -> Sheet:
    """One row per rod and variant: what it is, its pull, its spans, its seasons, its stack."""
    chosen, facts = list(notes) if notes is not None else result.notes, _facts(result)
    columns = [Column(word, text=True) for word in ("note", "rod", "variant", "material", "section")]
    columns += [in_units(label, unit, units) for unit, label, _ in (FACTS[name] for name in facts)]
    rows = []
    for note in chosen:
        i = result.index(note)
        for j, rod in enumerate(result["rod"]):
            for v, letter in enumerate(result["letter"]):
                made = [str(result[name][v, j]) for name in ("rod_material", "rod_section")]
                row: list[Cell] = [note, str(rod), str(letter), *made]
                row += [value(_fact(result, name, v, i, j), FACTS[name][0], units) for name in facts]
                rows.append(row)
    return Sheet("trackers", "Trackers", columns, rows, rods_note(result))


def _fact(result: Result, name: str, v: int, i: int, j: int) -> float:
    data: Any = result[name]
    return float(data[v, j] if data.ndim == 2 else data[v, i, j])


def rod_sheet(result: Result, rod: str, note: str, units: System) -> Sheet:
    """One rod at one note, the variants side by side."""
    i, j = result.index(note), [str(name) for name in result["rod"]].index(rod)
    columns = [Column("figure", text=True), Column("unit", text=True), *_letters(result)]
    rows: list[list[Cell]] = []
    for name in (name for name in _ROD_FACTS if name in result):
        unit, label, _ = FACTS[name]
        row = [value(_fact(result, name, v, i, j), unit, units) for v in range(len(result["variant"]))]
        if np.any(np.isfinite(row)):
            rows.append([label, convert(1.0, unit or "1", units)[1], *row])
    kind = str(result["rod_kind"][j]) if "rod_kind" in result else "tracker"
    return Sheet(f"{kind}-{rod}", f"{kind.capitalize()} '{rod}', note {note}", columns, rows)


def advice(result: Result, rod: str, note: str, units: System) -> list[str]:
    """What guides a rod needs at one note, in each variant; variants with the same words together."""
    if "clear_rest" not in result:
        return []
    i, j = result.index(note), [str(name) for name in result["rod"]].index(rod)
    told: dict[str, list[str]] = {}
    for v, letter in enumerate(result["letter"]):
        facts = {name: _fact(result, name, v, i, j) for name in _facts(result)}
        told.setdefault(guide_advice(facts, units), []).append(str(letter))
    return [f"{', '.join(letters)}: {words}" for words, letters in told.items()]


def all_advice(result: Result, note: str, units: System) -> list[str]:
    """What guides every rod needs at one note, a line for each rod and each variant that differs."""
    if "rod" not in result or note not in result.notes:
        return []
    return [f"{rod}, {note}, {line}" for rod in result["rod"] for line in advice(result, str(rod), note, units)]


def rods_note(result: Result) -> str:
    """What the figures of the rods rest on."""
    seasons = json.loads(result.about["seasons"])
    low, high = REPETITION_BAND
    return (
        f"A span is clear when its lowest sideways frequency is above {high:g} Hz, the top of the band of {low:g} to "
        f"{high:g} Hz in which one key is repeated: at rest, when the rod is slack or at the light pull of weights and "
        "springs, and held; guides and ends are taken as pivots. A strip lies flat unless its field 'lies' says "
        "on-edge: so it sags and so it is stacked; it whips about its weaker axis either way. Winter "
        f"{_climate(seasons['winter'])}, summer {_climate(seasons['summer'])}; growth is what moisture does to wood "
        "along the grain (0.1 to 0.4\u00a0% from green to oven-dry is published) and what heat does; carbon, glass and "
        "metal take up no moisture. A dash stands where there is no such figure: the sag would be more than "
        f"{100 * SMALL_SAG:g}\u00a0% of the span, as of a slack strip, where these forms no longer hold; the span "
        "buckles; the material has no figures of moisture or heat (keyaction materials NAME); or there is "
        "nothing that the figure would be of, as a sag of a rod that is not level, a price that was not given, guides "
        "that the case has not. "
        "Structure and chest move as well: only the difference counts."
    )


def _climate(climate: Sequence[float]) -> str:
    return f"{climate[0] - 273.15:g} °C and {climate[1]:.0%}".replace("%", " %")


def all_sheets(result: Result, units: System) -> list[Sheet]:
    """The sheets that are written as CSV files."""
    sheets = [compass_sheet(result, units), notes_sheet(result, units), _budgets(result, units)]
    return [*sheets, rods_sheet(result, units)] if "rod" in result else sheets


def _budgets(result: Result, units: System) -> Sheet:
    """What gave way and what weighs, one row per note, share and variant."""
    columns = [Column(word, text=True) for word in ("note", "variant", "budget", "share of")] + [
        Column("value"),
        Column("unit", text=True),
    ]
    rows: list[list[Cell]] = []
    for kind, axis in (("compliance_budget", "give"), ("mass_budget", "part")):
        variable = result.variables[kind]
        for i, note in enumerate(result.notes):
            for v, letter in enumerate(result["letter"]):
                rows += [
                    [note, str(letter), variable.label, str(name), value(x, variable.unit, units), unit]
                    for name, x in zip(result[axis], variable.data[v, i], strict=True)
                    for unit in [convert(1.0, variable.unit, units)[1]]
                    if np.isfinite(x)
                ]
    return Sheet("budgets", "Budgets", columns, rows)
