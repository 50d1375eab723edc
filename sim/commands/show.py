"""keyaction show: read a result file."""

from __future__ import annotations

import argparse
import json

from rich.console import Console

from keyaction.sim.commands.common import BAD_INPUT, DONE
from keyaction.sim.commands.console import err, out, tell
from keyaction.sim.commands.coupled_tables import explain, pallets_table, show_one, show_weight
from keyaction.sim.commands.divisions import chosen_results, with_note
from keyaction.sim.commands.on_rail import of_result
from keyaction.sim.commands.pictures import draw
from keyaction.sim.commands.sheet_tables import paragraph
from keyaction.sim.commands.spread_tables import has_spread, show_spread
from keyaction.sim.commands.tables import note_tables
from keyaction.sim.files.hdf5 import load
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.problem import Unreadable
from keyaction.sim.run.shape import no_run


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    whole = load(options.file)
    if other := no_run(whole):
        raise Unreadable(f"{options.file}: {other}")
    results = chosen_results(whole, options.division, options.file)
    try:
        notes = with_note(results, options.note) if options.note else dict.fromkeys(results, "")
    except (KeyError, ValueError) as problem:
        err().print(str(problem.args[0]), markup=False)
        return BAD_INPUT
    console, status = out(), DONE
    if not options.note:
        show_weight(console, results, options.units)
    for division, note in notes.items():
        result = results[division]
        _show(console, result, note, options)
        if options.plots:
            drawn = draw(result, options.plots / division, options.units, [note] if note else None)
            status = max(status, drawn)
    if not options.note:
        explain(console, results)
    return status


def _show(console: Console, result: Result, note: str, options: argparse.Namespace) -> None:
    """One note, or all."""
    units = options.units
    if note:
        figures, *others = note_tables(result, note, units)
        for table in (figures, pallets_table(result, note, units), *others):
            console.print(table)
    else:
        show_one(console, result, units)
        if line := of_result(result, units):
            tell(f"note: {line}")
        for name, status in zip(result.notes, result["status"], strict=True):
            if status != "ok":
                paragraph(console, f"{name}: {status}")
    if has_spread(result) and not note:
        show_spread(console, result, options.units)
    if options.about:
        for name in ("made", "case_name", "fingerprint", "methods", "tolerances", "versions"):
            told = "checksum" if name == "fingerprint" else name
            console.print(f"{told}: {result.about.get(name, '')}", markup=False)
        for line in (*(one.line for one in result.assumptions()), *json.loads(result.about.get("warnings", "[]"))):
            console.print(f"- {line}", markup=False)
