"""Tables of a result for an 80-column terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from rich.box import SIMPLE_HEAD
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from keyaction.models.units.quantity import System, convert, format_value
from keyaction.sim.figures.columns import shown_in
from keyaction.sim.figures.dip import AS_WRITTEN, pressed_words, written_dip
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.figures.limits import MORE, still_passes
from keyaction.sim.figures.registry import Entry
from keyaction.sim.figures.telling import read_verdict, why_none
from keyaction.sim.figures.verdict import UNASKED, Fate, Verdict, alike
from keyaction.sim.files.labelled import Result

_PLACES = 9
"""Decimal places of a plain number below which it is nothing."""
_WRITTEN = "Travel of the key front to the untouched bottom felt, as the case has it."


def _cell(value: float, entry: Entry, system: System) -> str:
    one = entry.quantity
    if not np.isfinite(value):
        return "-"
    if one.percent:
        return f"{value * 100:+z.{entry.places}f}{'!' if one.limit is not None and abs(value) > one.limit else ''}"
    shown, _ = convert(value, one.unit or "1", system)
    return f"{shown:.3g}" if system == "si" or entry.places is None else f"{shown:.{entry.places}f}"


def _heading(entry: Entry, system: System) -> str:
    """Two lines of words and one of the unit."""
    unit = "%" if entry.quantity.percent else convert(1.0, entry.quantity.unit or "1", system)[1]
    return f"{entry.heading}\n{unit}" if "\n" in entry.heading else f"{entry.heading}\n\n{unit}"


def _column(result: Result, entry: Entry, system: System, failed: str) -> list[str]:
    """Heading and cells; `failed` at notes that could not be played."""
    cells = [_heading(entry, system)]
    for row, (si, status) in enumerate(zip(result[entry.name], result["status"], strict=True)):
        more = MORE if entry.name == "repetition_rate" and not_the_end(result, row) else ""
        cells.append(f"{_cell(float(si), entry, system)}{more}" if status == "ok" else failed)
    return cells


def not_the_end(result: Result, row: int) -> bool:
    """Whether a note repeats at the highest rate tried, so that its rate may be higher."""
    known = "repetition_limit" in result and np.isfinite(result["repetition_rate"][row])
    return bool(known) and still_passes(str(result["repetition_limit"][row]))


def _fitting(columns: Sequence[Sequence[str]], room: int, gap: int) -> Iterator[Sequence[Sequence[str]]]:
    """The columns in as few groups as fit into a room of so many letters, `gap` of them before each."""
    group: list[Sequence[str]] = []
    left = room
    for column in columns:
        wide = gap + max(len(line) for cell in column for line in cell.split("\n"))
        if group and wide > left:
            yield group
            group, left = [], room
        group.append(column)
        left -= wide
    yield group


def notes_tables(result: Result, system: System, width: int) -> list[Table]:
    """One row per note: where and how heavily it plucks, how it speaks and repeats.

    As many tables as it takes, each with the notes at its left, so that none is wider than `width` letters.
    """
    apart = 1 if system == "trade" else 0  # SI figures are longer; all usual columns are to fit into 80
    entries = [entry for entry in shown_in("notes") if entry.name in result]
    columns = [_column(result, entry, system, "" if i else "failed") for i, entry in enumerate(entries)]
    notes = ["note", *result.notes]
    tables: list[Table] = []
    for group in _fitting(columns, width - max(map(len, notes)), apart + 1):
        table = _plain("" if tables else result.title, padding=(0, apart, 0, 0))
        table.add_column(notes[0], no_wrap=True)
        for heading, *_ in group:
            table.add_column(heading, justify="right", no_wrap=True)
        for row in zip(notes[1:], *(cells for _, *cells in group), strict=True):
            table.add_row(*row)
        tables.append(table)
    if tables:
        caption = Text(_caption(result, system) + "".join(f"{line}\n" for line in verdicts(result)))
        tables[0].caption, tables[0].caption_justify = caption, "left"
    return tables


def verdicts(result: Result) -> list[str]:
    """What is wrong with notes, as far as their verdicts tell."""
    told = {note: _verdict(result, row) for row, note in enumerate(result.notes)}
    return alike({note: str(one) for note, one in told.items() if one.fate is not Fate.UNKNOWN})


def _verdict(result: Result, row: int) -> Verdict:
    return read_verdict(str(result["verdict"][row])) if "verdict" in result else UNASKED


def _plain(title: str, **options: Any) -> Table:
    plain = Text(title, style="italic")  # a title of the case's is no markup
    return Table(title=plain, title_justify="left", box=SIMPLE_HEAD, show_edge=False, pad_edge=False, **options)


def captions(result: Result, units: System) -> list[str]:
    """What is said under tables of coupled keys: their dip, rates that are but the highest tried, faults."""
    more = _more(result).strip().replace("repeat: ", "rate: ").replace(f"{MORE} and more", " or more")
    return [_dip(result, units), *filter(None, [more]), *verdicts(result)]


def _dip(result: Result, system: System) -> str:
    dips = written_dip(result)
    there = dips[np.isfinite(dips)]
    ends = [format_value(float(end), "m", system) for end in (np.min(there), np.max(there))] if len(there) else []
    written = f"; as written: {' to '.join(dict.fromkeys(ends))}" if ends else ""
    return f"dip: {pressed_words(result).removeprefix('dip ')}{written}"


def _caption(result: Result, system: System) -> str:
    return (
        "step: of the pluck force from the note below, as a share of their mean;\n"
        f"! beyond {JUST_NOTICEABLE:.0%}: a finger can tell\n"
        f"{_dip(result, system)}\n"
        "open, delay: from the key at 1 mm to the groove at 50 % and 90 %\n"
        f"{_more(result)}"
    )


def _more(result: Result) -> str:
    """What the sign behind a repetition rate means, where there is one."""
    rows = [row for row, status in enumerate(result["status"]) if status == "ok" and not_the_end(result, row)]
    rate = float(result["repetition_rate"][rows[0]]) if rows else 0.0
    return f"repeat: {rate:.1f}{MORE} and more: {rate:.1f} Hz passes, the highest rate tried\n" if rows else ""


def _rows(result: Result, i: int, system: System) -> list[tuple[str, str, str]]:
    """Label, value and definition of every figure, with why a played note lacks it; of a failed one what there is."""
    scalars = [name for name, v in result.variables.items() if v.dims == ("note",) and v.definition]
    played, told = result["status"][i] == "ok", _verdict(result, i)
    rows = []
    for name in scalars:
        label, dip = result.variables[name].label, float(written_dip(result)[i])
        if name == "key_dip":
            label = pressed_words(result)
            if np.isfinite(dip):
                rows.append((AS_WRITTEN, format_value(dip, "m", system), _WRITTEN))
        value = float(result[name][i])
        if played or np.isfinite(value):
            why = why_none(name, value, told)
            words = result.variables[name].definition + (f" None: {why}." if why else "")
            rows.append((label, _figure(result, name, i, system), words))
    return rows


def _figure(result: Result, name: str, i: int, system: System) -> str:
    value, unit = float(result[name][i]), result.variables[name].unit
    if not np.isfinite(value):
        return "-"
    more = MORE if name == "repetition_rate" and not_the_end(result, i) else ""
    return f"{format_value(value, unit, system)}{more}" if unit else f"{round(value, _PLACES):z.3g}"


def note_tables(result: Result, note: str, system: System) -> list[Table]:
    """Everything about one note: figures with definitions, budgets, natural frequencies, energy audit."""
    i = result.index(note)
    figures = _plain(f"{result.title}: note {result.notes[i]}", width=80)
    figures.add_column("quantity", width=24)
    figures.add_column("value", justify="right", width=12)
    figures.add_column("definition", width=40)
    played, told = result["status"][i] == "ok", _verdict(result, i)
    if played or told.fate is not Fate.UNKNOWN:
        figures.add_row("verdict", "", escape(str(told)))
    if not played:
        figures.add_row("not played", "", escape(str(result["status"][i])))
    for row in _rows(result, i, system):
        figures.add_row(*row)
    if played and np.isfinite(result["repetition_rate"][i]):
        figures.add_row("repetition is limited", "", str(result["repetition_limit"][i]))
    tables = [figures]
    if played:
        tables += [
            _shares(result, "compliance_budget", "give", i, "What gave way before the pluck, as key travel", system),
            _shares(result, "mass_budget", "part", i, "Effective mass at the key, part by part", system),
            _modes(result, i),
            _audit(result, i, system),
        ]
    return tables


def _shares(result: Result, name: str, axis: str, i: int, title: str, system: System) -> Table:
    table = _plain(f"\n{title}")
    for heading in (axis, "value", "share"):
        table.add_column(heading, justify="left" if heading == axis else "right")
    values = result[name][i]
    with np.errstate(over="ignore", invalid="ignore"):
        total = np.nansum(values)
    for part, value in zip(result[axis], values, strict=True):
        if np.isfinite(value):
            table.add_row(
                str(part), format_value(float(value), result.variables[name].unit, system), f"{value / total:.0%}"
            )
    table.add_row("together", format_value(float(total), result.variables[name].unit, system), "100%", style="bold")
    return table


def _modes(result: Result, i: int) -> Table:
    table = _plain("\nNatural frequencies, train taut and pallet seated")
    table.add_column("Hz", justify="right")
    table.add_column("moves most, as way of the key")
    for frequency, shape in zip(result["mode_frequency"][i], result["mode_shape"][i], strict=True):
        if np.isfinite(frequency):
            ratios = result["body_ratio"][i]
            order = np.argsort(-np.abs(shape / np.where(ratios == 0.0, 1.0, ratios)))[:2]  # aside: its own way
            table.add_row(f"{frequency:.1f}", ", ".join(str(result["body"][j]) for j in order))
    return table


def _audit(result: Result, i: int, system: System) -> Table:
    unit = convert(1.0, "J", system)[1]
    table = _plain(f"\nEnergy audit in {unit}: in by finger and wind = lost + stored")
    table.add_column("played")
    for account in result["account"]:
        table.add_column(str(account), justify="right")
    for played, row in zip(result["played"], result["energy_audit"][i], strict=True):
        table.add_row(str(played), *(f"{convert(float(work), 'J', system)[0]:.3g}" for work in row))
    return table
