"""The couplers of an instrument as `check` shows them."""

from __future__ import annotations

from collections.abc import Iterator

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from keyaction.cases.fields.compass import Compass
from keyaction.cases.instrument.coupler import Coupler
from keyaction.cases.instrument.coupler_figures import coupler_assumptions, couples_nothing
from keyaction.cases.instrument.followed import nothing_told
from keyaction.cases.instrument.instrument import Instrument
from keyaction.cases.text.assumed import grouped
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.commands.chosen import Choice
from keyaction.sim.commands.sheet_tables import paragraph


def show_couplers(console: Console, instrument: Instrument, units: System) -> None:
    """Print what couples what, with its play, what the file left to the program, and what is odd; nothing if none."""
    if not instrument.couplers:
        return
    console.print(_couplers(instrument, units))
    assumed = _table("\nAssumptions of the couplers", ("field", 20), ("value: source", 34), ("of", 22))
    for field, told, owners in grouped(coupler_assumptions(instrument, units)):
        assumed.add_row(field, escape(told), escape(owners))
    console.print(assumed)
    console.print()
    for line in (*couples_nothing(instrument), *instrument.warnings):
        paragraph(console, f"- {line}")


def uncoupled(choice: Choice) -> Iterator[str]:
    """What drawn couplers do not reach, of the notes that are chosen: those that are played alone, and why."""
    if choice.coupling is None:
        return
    lacking: dict[str, set[int]] = {}
    for one in choice:
        found = {note: choice.coupling.note(one.division, note) for note in one.notes}
        if alone := [note for note, coupled in found.items() if len(coupled.soundings) == 1]:
            at = Compass(one.case.compass, one.case.naming).ranges(alone)
            yield f"{one.division}: no drawn coupler reaches another key at {at}; played alone"
        for coupler, note in (each for coupled in found.values() for each in coupled.lacking):
            lacking.setdefault(coupler.name, set()).add(note)
    instrument = choice.coupling.instrument
    for name, notes in lacking.items():
        yield nothing_told(instrument, instrument.couplers[name], sorted(notes))


def _couplers(instrument: Instrument, units: System) -> Table:
    table = _table(
        "\nCouplers", ("coupler", 12), ("from, to", 18), ("pitch, kind", 14), ("takes, gives", 15), ("play", 13)
    )
    for one in instrument.couplers.values():
        table.add_row(
            escape(one.name),
            f"{one.played}\n{one.driven}",
            f"{one.pitch}\n{one.kind}",
            f"{_hold(one.takes)}\n{_hold(one.gives)}",
            _play(one, units),
        )
    return table


def _hold(hold: tuple[str, str]) -> str:
    part, end = hold
    return part if end == "out" else f"{part} (in)"


def _play(coupler: Coupler, units: System) -> str:
    """Its play, over the compass."""
    values = [float(given.value) for given in coupler.fields.get("play", {}).values()]
    ends = dict.fromkeys(format_value(end, "m", units) for end in (min(values), max(values))) if values else {"-": None}
    return " to ".join(ends)


def _table(title: str, *columns: tuple[str, int]) -> Table:
    table = Table(title=title, title_justify="left", width=80, box=SIMPLE_HEAD, show_edge=False, pad_edge=False)
    for heading, width in columns:
        table.add_column(heading, width=width)
    return table
