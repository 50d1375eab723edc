"""keyaction show: read a result file."""

from __future__ import annotations

import argparse
import json

from keyaction.sim.commands.common import BAD_INPUT, DONE
from keyaction.sim.commands.console import err, out
from keyaction.sim.commands.pictures import draw
from keyaction.sim.commands.sheet_tables import paragraph
from keyaction.sim.commands.spread_tables import has_spread, show_spread
from keyaction.sim.commands.tables import note_tables, notes_tables
from keyaction.sim.files.hdf5 import load
from keyaction.sim.files.problem import Unreadable
from keyaction.sim.run.shape import no_run


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    result = load(options.file)
    if other := no_run(result):
        raise Unreadable(f"{options.file}: {other}")
    console = out()
    if options.note:
        try:
            tables = note_tables(result, options.note, options.units)
        except (KeyError, ValueError) as problem:
            err().print(str(problem.args[0]), markup=False)
            return BAD_INPUT
    else:
        tables = notes_tables(result, options.units, console.width)
    for table in tables:
        console.print(table)
    if not options.note:
        for name, status in zip(result.notes, result["status"], strict=True):
            if status != "ok":
                paragraph(console, f"{name}: {status}")
    if has_spread(result) and not options.note:
        show_spread(console, result, options.units)
    if options.about:
        for name in ("made", "case_name", "fingerprint", "methods", "tolerances", "versions"):
            told = "checksum" if name == "fingerprint" else name
            console.print(f"{told}: {result.about.get(name, '')}", markup=False)
        for line in (*(one.line for one in result.assumptions()), *json.loads(result.about.get("warnings", "[]"))):
            console.print(f"- {line}", markup=False)
    if options.plots:
        return draw(result, options.plots, options.units, [options.note] if options.note else None)
    return DONE
