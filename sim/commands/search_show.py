"""keyaction search show: what a search found, and a design of it as a case."""

from __future__ import annotations

import argparse
import json

from keyaction.sim.commands.common import BAD_INPUT, DONE
from keyaction.sim.commands.console import err, out, tell
from keyaction.sim.commands.on_rail import of_result
from keyaction.sim.commands.search import PICTURE
from keyaction.sim.commands.search_tables import Front, show
from keyaction.sim.commands.sheet_tables import paragraph
from keyaction.sim.files.begun import read_manifest
from keyaction.sim.files.folders import refuse_unusable
from keyaction.sim.files.hdf5 import load
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.problem import Unreadable
from keyaction.sim.search.folder import RESULTS, SEARCH
from keyaction.sim.search.written import write_design


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    if options.plots:
        refuse_unusable(options.plots, "--plots")
    result = _result(options)
    if options.case is None:
        if options.out is not None:
            err().print("--out goes with --case, the design that is written", markup=False)
            return BAD_INPUT
        out().print(f"{result.about['search_title']}: searched", style="bold", markup=False)
        for line in json.loads(result.about["asked"]):
            paragraph(out(), line)
        show(out(), result, options.units)
        if line := of_result(result, options.units):
            tell(f"note: {line}")
    elif wrong := _write(result, options):
        err().print(wrong, markup=False, soft_wrap=True)
        return BAD_INPUT
    if options.plots:
        from keyaction.plots.study.searched import (
            save_front,  # here, because the plotting library takes a second to load
        )

        options.plots.mkdir(parents=True, exist_ok=True)
        save_front(result, options.plots / PICTURE, options.units)
        out().print(f"picture: {options.plots / PICTURE}", markup=False, soft_wrap=True)
    return DONE


def _result(options: argparse.Namespace) -> Result:
    read_manifest(options.folder, SEARCH)
    path = options.folder / RESULTS
    if not path.exists():
        told = "this search is not finished: give its command again with --resume"
        raise Unreadable(f"{options.folder}: {told}")
    try:
        found = load(path)
    except Unreadable as problem:
        told = f"{str(problem).split(';')[0]}; delete it, then give the command of the search again with --resume"
        raise Unreadable(told) from problem
    if not isinstance(found, Result) or "aims" not in found.about:
        told = "is not the result of a search; move it away, then give the command of the search again with --resume"
        raise Unreadable(f"{path}: {told}")
    return found


def _write(result: Result, options: argparse.Namespace) -> str:
    """Write a design's case; what is wrong with what is asked for, if anything."""
    front = Front(result)
    if options.out is None:
        return "--out FILE is needed: the case file that is written"
    if not front.designs:
        return f"--case {options.case}: this search offers no design"
    places = {str(design): i for i, design in enumerate(front.designs)}
    if front.compromise is not None:
        places["compromise"] = front.compromise
    if options.case not in places:
        why = "none of these is one; name one of them" if options.case == "compromise" else "is not offered; offered"
        return f"--case {options.case}: {why}: {', '.join(places)}"
    i = places[options.case]
    text = str(result["case_of_offered"][i])
    made = write_design(options.out, text, json.loads(result.about["case_files"]), options.force)
    out().print(f"design {front.designs[i]} as a case: {', '.join(map(str, made))}", markup=False, soft_wrap=True)
    if result.about.get("division"):
        told = f"It is the case of one division, {result.about['division']}: the instrument has to name it there. "
        paragraph(out(), told + "By itself it lacks what the instrument says of it: climate, materials, set, places.")
    return ""
