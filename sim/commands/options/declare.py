"""How a command is declared, and the options that several commands share."""

from __future__ import annotations

import argparse
import textwrap

from keyaction.sim.commands.common import STATUSES, WIDTH


def declare(
    commands: argparse._SubParsersAction[argparse.ArgumentParser], name: str, brief: str, text: str, *examples: str
) -> argparse.ArgumentParser:
    """A command's parser, with its examples and the exit statuses under its help; `worker` is the module that acts."""
    shown = "\n".join(f"  keyaction {example}" for example in examples)
    made = commands.add_parser(
        name,
        help=brief,
        description=textwrap.fill(text, WIDTH),
        epilog=f"example{'s' if len(examples) > 1 else ''}:\n{shown}\n\n{STATUSES}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    made.set_defaults(worker=name)
    return made


def add_units(parser: argparse.ArgumentParser) -> None:
    """The option that chooses units."""
    parser.add_argument(
        "--units", choices=("trade", "si"), default="trade", help="mm, gf, mmH2O, ms; or SI (default: trade)"
    )


def add_case(parser: argparse.ArgumentParser, needed: bool = True) -> None:
    """The case argument; where it is not `needed`, it is None unless given."""
    told = "a case file, or the name of a shipped case such as demo-wood"
    parser.add_argument("case", metavar="CASE", nargs=None if needed else "?", help=told)
