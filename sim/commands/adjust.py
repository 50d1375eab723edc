"""keyaction adjust: a note sounds in a dry spell; which joint first, and what that does in the opposite season."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import numpy as np

from keyaction.models.climate.year import Year
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.commands.caution import INSIDE
from keyaction.sim.commands.chosen import Choice, Subject, choose, only_one
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED, WIDTH
from keyaction.sim.commands.console import out, tell
from keyaction.sim.commands.divisions import NotChosen
from keyaction.sim.commands.historic_told import tell_historic
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.commands.yearly import climate_of, length, wrong_jobs, years
from keyaction.sim.seasons.adjust import CannotAdjust, adjust
from keyaction.sim.seasons.adjusted import commons_sheet, joints_sheet, opposite_sheet, told, turned_sheet
from keyaction.sim.seasons.advice import Advice
from keyaction.sim.seasons.told import climate_told

_LEAST, _MOST = 0.1e-3, 5e-3
"""m: pitches of thread that may be asked for."""


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    need_numba()
    choice = choose(options)
    pitch, wrong = length("--pitch", options.pitch, _LEAST, _MOST)
    wrong += [*wrong_jobs(options), *_wrong_note(choice, options.note)]
    if wrong:
        tell("\n".join(wrong))
        return BAD_INPUT
    one = only_one(choice.one_note(options.note), "--note")
    note = one.notes[0]
    (season,) = years(replace(choice, chosen=(one,)), climate_of(options), options.jobs, whole=True)
    day = instant(options.day, season.year) if options.day is not None else None
    try:
        advice = adjust(season, note, day, pitch=pitch)
    except CannotAdjust as problem:
        tell(str(problem))
        return FAILED
    _show(one, advice, season.year, options)
    paragraph(out(), climate_told(season, options.units))
    tell_historic(one.case, "turn-nut", "rod")
    paragraph(out(), INSIDE)
    return DONE


def _wrong_note(choice: Choice, text: str) -> Iterator[str]:
    """A note that is none, or several."""
    if not text.strip():
        yield "--note: name a note, such as C4"
    elif (named := max(len(notes) for notes in choice.notes(text).values())) > 1:
        yield f"--note {text}: names {named} notes; one at a time is adjusted"


def _show(one: Subject, advice: Advice, year: Year, options: argparse.Namespace) -> None:
    console, units = out(), options.units
    console.print(one.title, style="bold", markup=False)
    for line in told(advice, year, units):
        paragraph(console, f"- {line}")
    nuts = joints_sheet(advice, units), turned_sheet(advice, year, units)
    for sheet in (commons_sheet(advice, units), *nuts, opposite_sheet(advice, year, units)):
        if not sheet.rows:
            continue
        for i, piece in enumerate(sheet.pieces(1, WIDTH, 2)):
            console.print(sheet_table(replace(piece, title=piece.title if i == 0 else ""), note=False))
        if sheet.note:
            paragraph(console, sheet.note)


def instant(text: str, year: Year) -> int:
    """The first instant of a day as people name it.

    Parameters
    ----------
    text : str
        "12 Feb" and "2025-02-12" of a climate with dates; "12" or "day 12" from its first day on.
    year : Year

    Raises
    ------
    NotChosen
        If the climate has no such day.
    """
    plain = " ".join(text.split())
    days = np.floor(year.days).astype(int)
    if plain.lower().removeprefix("day ").isdecimal():
        found = np.flatnonzero(days == int(plain.lower().removeprefix("day ")) - 1)
    else:
        found = np.flatnonzero([_same(plain, i, year) for i in range(len(year))])
    if not len(found):
        last = year.when(len(year) - 1)
        forms = "12 Feb, 2025-02-12 or day 43" if year.start else "day 43"
        raise NotChosen(f"--day {text}: not in this climate, {year.when(0)} to {last}; write it as {forms}")
    return int(found[0])


def _same(plain: str, i: int, year: Year) -> bool:
    if year.start is None:
        return False
    try:
        wanted = date.fromisoformat(plain)
    except ValueError:
        return year.when(i).lower() == plain.lower()
    begin = date(year.start.year, year.start.month, year.start.day)
    return (wanted - begin).days == int(year.days[i])
