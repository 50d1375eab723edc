"""keyaction check CASE --spreads: how uncertain the figures of a case are."""

from __future__ import annotations

from collections.abc import Sequence

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from keyaction.cases.action.case import Case
from keyaction.cases.study.spans import Deviation
from keyaction.cases.study.spreads import Uncertain, uncertain, without_spread
from keyaction.models.fields.fields import Field
from keyaction.models.units.quantity import System, convert, format_value
from keyaction.sim.commands.common import WIDTH
from keyaction.sim.commands.sheet_tables import paragraph

_HUMIDITY = "humidity"
"""The field that is itself a share."""


def print_spreads(console: Console, case: Case, units: System) -> None:
    """Everything that is uncertain about a case; what has the same spread from the same source shares a row."""
    doubts = uncertain(case, case.compass)
    table = Table(
        title=f"\nSpreads: {len(doubts)} figures are uncertain",
        title_justify="left",
        width=WIDTH,
        box=SIMPLE_HEAD,
        show_edge=False,
        pad_edge=False,
    )
    for heading, width in (("of", 34), ("all notes", 9), ("each note", 9), ("source", 25)):
        table.add_column(heading, width=width, justify="right" if "note" in heading else "left")
    for (common, own, form, told), names in _alike(doubts, units).items():
        table.add_row(escape(", ".join(names)), common, own, escape(f"{form}{told}"))
    console.print(table)
    paragraph(
        console,
        "all notes: what they share (batch, jig, gauge); each note: its own (as made, as set). One standard deviation; "
        "even: half the width of a range in which all is alike; % RH: of relative humidity itself, other % are shares "
        "of the figure. Others: [spreads] of a case or study.",
    )
    for name in without_spread(case):
        console.print(f"- no spread is known of {name}; say it in [spreads]", markup=False)


def _alike(doubts: Sequence[Uncertain], units: System) -> dict[tuple[str, str, str, str], list[str]]:
    found: dict[tuple[str, str, str, str], list[str]] = {}
    for one in doubts:
        own = one.pieces[0].deviation if one.pieces else None
        common, each = (_size(deviation, one.target.field, units) for deviation in (one.common, own))
        form = "even; " if one.common.even else ""
        found.setdefault((common, each, form, one.spread.told), []).append(one.name)
    return found


def _size(one: Deviation | None, field: Field, units: System) -> str:
    if one is None or not one.size:
        return "-"
    if one.factor:
        return f"{100 * one.size:.2g} %"
    unit = field.unit
    if unit == "K":  # a difference, which has no offset
        return f"{one.size:.3g} K"
    if field.name == _HUMIDITY:
        return f"{100 * one.size:.3g} % RH"
    if unit and convert(1.0, unit, units)[1]:
        return format_value(one.size, unit, units, kind=field.written or None)
    return f"{one.size:.3g}"
