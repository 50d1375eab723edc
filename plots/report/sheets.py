"""The sheets of a report: springs to set, figures of every note, what to regulate, what to cut, what it rests on."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from keyaction.cases.action.case import Case, PartSpec
from keyaction.cases.action.trains import train_of
from keyaction.models.fields.values import Given
from keyaction.models.formulas.springs import TorsionSpring
from keyaction.models.materials.shown import shown_property
from keyaction.models.materials.types import Material
from keyaction.models.notes import note_name
from keyaction.models.train.train import TrainProblem
from keyaction.models.units.quantity import System, convert, format_value
from keyaction.plots.report.several import of_several, several_note
from keyaction.sim.figures.columns import QUANTITIES, shown_in
from keyaction.sim.figures.dip import AS_WRITTEN, pressed_heading, pressed_words, written_dip
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.figures.registry import Entry, Table
from keyaction.sim.files.labelled import Result
from keyaction.sim.springs.usual import YIELD
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value

_WIRE = (
    ("wire.diameter", "wire"),
    ("wire.coil_diameter", "coil"),
    ("wire.turns", "turns"),
    ("wire.arm", "leg"),
    ("wire.free_gape", "gape\nfree"),
    ("wire.closed_gape", "gape\nshut"),
)
_UNITS = {"wire.turns": ""}
_SIZES = {"round": ("diameter",), "tube": ("diameter", "wall"), "square": ("width",)}


def parameter(result: Result, role: str, what: str) -> np.ndarray:
    """A parameter of the (first) part of a role at every note, SI; NaN where there is none."""
    found = np.flatnonzero((result["figure_role"] == role) & (result["figure_what"] == what))
    return np.asarray(result["figures"][:, found[0]]) if len(found) else np.full(len(result.notes), np.nan)


def spring_figures(result: Result, case: Case | None = None) -> dict[str, np.ndarray]:
    """Figures of the pallet springs at every note, SI; of notes that failed what the case gives.

    Returns
    -------
    dict
        ``at``, place from the hinge; ``shut`` and ``open``, force there; ``rate``; ``eye``, closing force at the
        eye with the wind off; ``margin``, the same less the friction of the hinge; ``energy_shut``,
        ``energy_open``: stored if the spring is linear down to no force, F^2 / 2k.
    """
    shut, rate, moment, eye_arm, friction, closing = _given(result, case)
    with np.errstate(divide="ignore", invalid="ignore"):
        at = moment / shut
        opened = shut + rate * np.asarray(result["steady_lift"]) * at / eye_arm
        energies = [np.where(rate > 0, force**2 / (2 * rate), np.nan) for force in (shut, opened)]
    return {
        "at": at,
        "shut": shut,
        "open": opened,
        "rate": rate,
        "eye": closing,
        "margin": closing - friction / eye_arm,
        "energy_shut": energies[0],
        "energy_open": energies[1],
    }


_GIVEN = (("spring", "force"), ("spring", "rate"), ("spring", "M0"), ("pallet", "r_eye"), ("pallet", "tau0"))
_CLOSING = ("pallet", "closing_no_wind")


def _given(result: Result, case: Case | None) -> np.ndarray:
    """What the case gives of spring and pallet, and the closing force that follows, at every note."""
    found = np.array([*(parameter(result, *one) for one in _GIVEN), np.asarray(result["closing_force"], dtype=float)])
    if case is None:
        return found
    for i in np.flatnonzero(result["status"] != "ok"):
        try:
            train = train_of(case, int(result["semitone"][i]))
        except TrainProblem:
            continue
        found[:, i] = [train.role(role).values.derived[what].value for role, what in (*_GIVEN, _CLOSING)]
    return found


def springs_sheet(result: Result, case: Case | None, units: System) -> Sheet:
    """The spring schedule: one row per note, with the wire where the case gives one."""
    figures = spring_figures(result, case)
    told = (
        ("at", "from\nhinge", "m", 0),
        ("shut", "force\nshut", "N", 0),
        ("open", "force\nopen", "N", 0),
        ("rate", "rate", "N/m", 3),
        ("eye", "at eye,\nwind off", "N", 0),
        ("margin", "less\nfriction", "N", 0),
        ("energy_shut", "stored\nshut", "J", 0),
        ("energy_open", "stored\nopen", "J", 0),
    )
    columns = [Column("note", text=True)] + [in_units(words, unit, units, places) for _, words, unit, places in told]
    rows: list[list[Cell]] = []
    for i, note in enumerate(result.notes):
        rows.append([note, *(value(figures[name][i], unit, units) for name, _, unit, _ in told)])
    wires = _wires(result, case, units)
    if wires:
        columns += wires[0]
        rows = [[*row, *more] for row, more in zip(rows, wires[1], strict=True)]
    strain = f" Stress: bending inside the coils; ! beyond {YIELD:.0%} of tensile strength, where wire sets."
    note = (
        "From hinge: where the spring bears on the pallet; forces are at that place. At eye: what keeps the pallet "
        "shut with the wind off, spring less weight, and what the hinge's break-away friction leaves of it. Stored: in "
        "the spring, if it is linear down to no force. Custom: set by force at the eye, not by shape, and weigh again "
        "after a week."
    )
    return Sheet("springs", "Spring schedule", columns, rows, note + (strain.replace("%", "\u00a0%") if wires else ""))


def _wires(result: Result, case: Case | None, units: System) -> tuple[list[Column], list[list[Cell]]] | None:
    """The wire of every note's spring; None where the case gives none."""
    spring = next((part for part in case.parts if part.kind == "spring"), None) if case else None
    if case is None or spring is None or not spring.fields.get("wire.diameter"):
        return None
    columns = [Column("wire of", text=True)]
    columns += [in_units(words, _UNITS.get(path, "m"), units, None) for path, words in _WIRE]
    columns.append(Column("stress\nopen", "% of strength", 0, limit=100 * YIELD))
    rows: list[list[Cell]] = []
    for note, force in zip(result["semitone"], spring_figures(result, case)["open"], strict=True):
        given = case.values(int(note), spring)
        row: list[Cell] = [str(given["wire.material"].value) if "wire.material" in given else ""]
        row += [_number(given, path, _UNITS.get(path, "m"), units) for path, _ in _WIRE]
        rows.append([*row, 100 * _stressed(case, given, float(force))])
    return columns, rows


def _stressed(case: Case, given: dict[str, Given], force: float) -> float:
    """Bending stress at a force over the wire's tensile strength; NaN where the wire or its strength is not known."""
    paths = ("wire.diameter", "wire.coil_diameter", "wire.turns", "wire.arm")
    if "wire.material" not in given or any(path not in given for path in paths):
        return math.nan
    wire, coil, turns, leg = (float(given[path].value) for path in paths)
    material = case.library.get(str(given["wire.material"].value))
    try:
        strength = material.wire_strength(wire)
    except ValueError:
        return math.nan
    return TorsionSpring(material, wire, coil, turns, leg, leg).stress(force) / strength


def _number(given: dict[str, Given], path: str, unit: str, units: System) -> float:
    return value(float(given[path].value), unit, units) if path in given else math.nan


def _column(result: Result, entry: Entry, units: System) -> Column:
    one = entry.quantity
    if one.percent:
        return Column(entry.heading, "%", entry.places, limit=None if one.limit is None else 100 * one.limit)
    made = in_units(entry.heading, one.unit, units, entry.places)
    return replace(made, full=of_several(result, entry.name, entry.heading))


def _cell(result: Result, entry: Entry, i: int, units: System) -> Cell:
    si = float(result[entry.name][i])
    return 100 * si if entry.quantity.percent else value(si, entry.quantity.unit, units)


def _of_notes(result: Result, table: Table, units: System) -> tuple[list[Column], list[list[Cell]]]:
    """Columns and rows of a table of all notes, of the figures that the result holds."""
    entries = [entry for entry in shown_in(table) if entry.name in result]
    columns = [Column("note", text=True), *(_column(result, entry, units) for entry in entries)]
    rows = [[note, *(_cell(result, entry, i, units) for entry in entries)] for i, note in enumerate(result.notes)]
    return columns, rows


def _dips(
    result: Result, columns: list[Column], rows: list[list[Cell]], units: System
) -> tuple[list[Column], list[list[Cell]]]:
    """The table with the dip as written before the dip under load, both named; as it is where it has no dip."""
    place = next((i for i, one in enumerate(columns) if one.heading == QUANTITIES["key_dip"].heading), None)
    if place is None:
        return columns, rows
    written = in_units("dip as\nwritten", "m", units, 1)
    pressed = replace(columns[place], heading=pressed_heading(result))
    whole = [*columns[:place], written, pressed, *columns[place + 1 :]]
    dips = [value(float(dip), "m", units) for dip in written_dip(result)]
    return whole, [[*row[:place], dip, *row[place:]] for row, dip in zip(rows, dips, strict=True)]


def figures_sheet(result: Result, units: System) -> Sheet:
    """Key figures of every note."""
    columns, rows = _dips(result, *_of_notes(result, "figures", units), units)
    note = (
        f"Step: pluck force against the note a semitone below; ! beyond {100 * JUST_NOTICEABLE:g}\u00a0%, which a "
        "finger can tell. Opens, speech delay: from the key passing 1\u00a0mm to 50\u00a0% and 90\u00a0% of the wind "
        "in the groove. Release: from the finger's lift to 10\u00a0%. Mass: effective mass of the train at the key. "
        f"Dip as written: to the untouched bottom felt; {pressed_words(result)}: into the felt.{several_note(result)}"
    )
    return Sheet("figures", "Key figures, note by note", columns, rows, note)


def cutting_sheet(result: Result, case: Case, units: System) -> Sheet:
    """Lengths to cut, note by note: trackers, stickers, pull-downs and rollers."""
    parts = [part for part in case.parts if part.fields.get("length") and part.kind not in ("groove", "pallet")]
    rows: list[list[Cell]] = []
    for note in result["semitone"]:
        row: list[Cell] = [note_name(int(note), case.naming)]
        row += [_number(case.values(int(note), part), "length", "m", units) for part in parts]
        rows.append(row)
    columns = [Column("note", text=True)]
    for i, part in enumerate(parts):
        whole = all(abs(float(row[i + 1]) % 1) < 1e-9 for row in rows)
        columns.append(in_units(part.name.replace("-", "-\n"), "m", units, 0 if whole else 1))
    first = int(result["semitone"][0])
    made = "; ".join(f"{part.name} ({part.kind}): {_made_of(case, part, first, units)}" for part in parts)
    bent = [part.name for part in parts if "arms" in (had := case.values(first, part)) and had["arms"].value == "bent"]
    longer = f" The wire of {', '.join(bent)} is cut longer by both arms, its bent ends." if bent else ""
    note = f"Lengths between the ends that carry load, without allowance for hooks, nuts and ends. {made}.{longer}"
    return Sheet("cutting", "Lengths to cut", columns, rows, note)


def _made_of(case: Case, part: PartSpec, note: int, units: System) -> str:
    """Material and section of a part, at its lowest note where they vary."""
    given = case.values(note, part)
    words = [str(given[name].value) for name in ("material", "section") if name in given]
    shape = str(given["section"].value) if "section" in given else ""
    sizes = _SIZES.get(shape, ("width", "thickness"))
    shown = [format_value(float(given[name].value), "m", units) for name in sizes if name in given]
    varies = any(len({float(one.value) for one in part.fields[name].values()}) > 1 for name in sizes if name in given)
    if shown:
        words.append(" x ".join(shown) + (f" at {note_name(note, case.naming)}, varies" if varies else ""))
    return " ".join(words) or "measured"


_USED = (
    "E",
    "E_flexural",
    "G",
    "density",
    "stiffness",
    "alpha",
    "coefficient",
    "shrinkage_longitudinal",
    "thermal_expansion",
)
"""Properties on which a figure of the report can rest."""


def materials_sheet(case: Case) -> Sheet:
    """The properties used of every material that the case names, with their sources."""
    columns = [Column(word, text=True) for word in ("material", "property", "value", "spread", "status", "source")]
    rows: list[list[Cell]] = []
    for material in _materials(case):
        for name, found in ((name, material[name]) for name in _USED if name in material):
            spread = "" if found.spread is None else f"{100 * found.spread:g} %"
            row = [material.name, name.replace("_", " "), shown_property(name, found), spread]
            rows.append([*row, found.status, found.source])
    note = (
        "Spread: one standard deviation. Read: in the original; second-hand: in a transcription; from memory: "
        "recalled, not seen; common practice: no publication was reached."
    )
    return Sheet("materials", "Materials and their sources", columns, rows, note)


def _materials(case: Case) -> list[Material]:
    """Materials that fields of the case name, in the order in which the train meets them."""
    names = dict.fromkeys(
        str(given.value)
        for part in case.parts
        for path, course in part.fields.items()
        if path.split(".")[-1] in ("material", "friction", "arm_material")
        for given in course.values()
    )
    return [case.library.get(name) for name in names if name in case.library]


def definitions(result: Result) -> Iterator[tuple[str, str, str]]:
    """Label, unit and definition of every figure of the notes, and of their pallets."""
    for variable in result.variables.values():
        if variable.dims in (("note",), ("note", "pallet")) and variable.definition:
            yield variable.label, convert(1.0, variable.unit or "1")[1], variable.definition


def glance_sheet(result: Result, notes: Sequence[str], units: System) -> Sheet:
    """The figures of a few notes, side by side."""
    entries = [*(entry for entry in shown_in("figures") if not entry.quantity.percent), *shown_in("glance")]
    columns = [Column("figure", text=True), Column("unit", text=True), *(Column(note) for note in notes)]
    rows: list[list[Cell]] = []
    for entry in (entry for entry in entries if entry.name in result):
        one = entry.quantity
        label = of_several(result, entry.name, one.label) or one.label
        unit = convert(1.0, one.unit or "1", units)[1]
        if entry.name == "key_dip":
            dips, label = written_dip(result), pressed_words(result)
            rows.append([AS_WRITTEN, unit, *(value(float(dips[result.index(note)]), "m", units) for note in notes)])
        rows.append([label, unit, *(_cell(result, entry, result.index(note), units) for note in notes)])
    return Sheet("glance", "At a glance", columns, rows, several_note(result).strip())
