"""The options of keyaction materials."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import add_division, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "materials",
        "the materials there are, with sources, spreads, and what is missing",
        "List woods, composites, metals, felts and friction pairs; with names, everything about these: values, units, "
        "spreads, sources, what other sources say, what they do from winter to summer, and what is missing.",
        "materials --kind wood",
        "materials norway-spruce carbon-rod",
        "materials --case my-action.toml --csv materials.csv",
    )
    parser.add_argument("names", metavar="NAME", nargs="*", help="a material (default: a list of all)")
    parser.add_argument("--kind", metavar="KIND", help="only wood, composite, metal, cloth or friction")
    parser.add_argument("--case", metavar="CASE", help="with the materials that this case brings along")
    add_division(parser)
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write every value with its source as CSV")
