"""The command line: one command after the program's name, each with options of its own."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from keyaction._version import __version__
from keyaction.sim.commands.common import STATUSES
from keyaction.sim.commands.options import (
    adjust,
    assist,
    bench,
    calibrate,
    check,
    chord,
    compare,
    diagnose,
    equations,
    layout,
    materials,
    new,
    pallets,
    rail,
    regulate,
    report,
    run,
    search,
    search_show,
    seasons,
    sheet,
    show,
    springs,
    sweep,
    sweep_show,
    tolerances,
    tune,
    weigh,
)
from keyaction.sim.commands.options.declare import Parser

DESCRIPTION = """\
How a tracker key action will feel, speak and repeat, before the wood is cut.

A case file describes the train of parts from key to pallet and how each varies
over the compass; the program derives its equations of motion, plays every note,
and gives pluck point, touch, delay and repetition rate with their feel curves.
An instrument file joins several cases, its divisions; all commands take it too."""

EXAMPLES = f"""\
examples:
  keyaction new my-action                     a commented starting case
  keyaction check my-action.toml --note C4    train, figures, assumptions
  keyaction materials --kind wood             what can be chosen, with sources
  keyaction layout demo-instrument --orders all
                                              places, rollers; chest orders
  keyaction run my-action.toml --plots pics   play all notes
  keyaction show my-action.h5 --note C4       everything about one note
  keyaction bench my-action.toml              move a spring, see the touch
  keyaction sweep quick --out quick           many designs: a shipped study
  keyaction search my-action.toml --vary 'roller.width=18 mm to 30 mm'
                                              the best of what may vary
  keyaction compare my-action.toml --rod spruce,carbon-rod --out rods
                                              variants side by side
  keyaction report my-action.h5 --out report  sheets that a shop can print
  keyaction weigh my-action.toml              weigh the keys, wind on and off
  keyaction tune my-action.toml --pluck '150 gf' --out tuned.toml
                                              the spring of every note
  keyaction springs tuned.toml                their wire, from the stock
  keyaction pallets my-action.toml --stops all
                                              the smallest that feed the stops
  keyaction chord my-action.toml "C3 E3 G3"   many notes share the wind
  keyaction assist my-action.toml --notes C2  relief for a heavy bass
  keyaction seasons my-action.toml            a year of air and wood
  keyaction rail demo-instrument --division behind
                                              does a floating rail cure it
  keyaction adjust my-action.toml --note C2   a note sounds: what to turn first
  keyaction sheet my-action.toml --notes C4   to fill in at the instrument
  keyaction regulate demo-wood demo-wood      what to turn, of a measured sheet
  keyaction diagnose demo-wood demo-wood      what is wrong there, causes ranked
  keyaction calibrate demo-wood feel-C4       friction, springs from measurements
  keyaction tolerances my-action.toml         which is felt, and worth paying for

{STATUSES}"""


def parser() -> argparse.ArgumentParser:
    """The command line."""
    made: argparse.ArgumentParser = Parser(
        "keyaction", description=DESCRIPTION, epilog=EXAMPLES, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    made.add_argument("--version", action="version", version=f"keyaction {__version__}")
    commands = made.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for command in (
        new,
        check,
        materials,
        layout,
        run,
        bench,
        show,
        equations,
        sweep,
        search,
        compare,
        report,
        weigh,
        tune,
        springs,
        pallets,
        chord,
        assist,
        seasons,
        rail,
        adjust,
        sheet,
        regulate,
        diagnose,
        calibrate,
        tolerances,
    ):
        command.add(commands)
    return made


def parse(arguments: Sequence[str]) -> argparse.Namespace:
    """What is asked for; `worker` names the module that does it."""
    given = list(arguments)
    return sweep_show.show_arguments(given) or search_show.show_arguments(given) or parser().parse_args(arguments)
