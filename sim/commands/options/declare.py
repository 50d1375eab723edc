"""How a command is declared, and the options that several commands share."""

from __future__ import annotations

import argparse
import textwrap
from typing import Any

from keyaction.sim.commands.common import STATUSES, WIDTH


class Parser(argparse.ArgumentParser):
    """A parser whose arguments may stand before, between and behind the options where they are `mixed`."""

    mixed = False

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> tuple[Any, list[str]]:
        """As of the library, which without this ends a list of arguments at the first option."""
        if not self.mixed:
            return super().parse_known_args(args, namespace)
        self.mixed = False
        try:
            return self.parse_known_intermixed_args(args, namespace)
        finally:
            self.mixed = True


def declare(
    commands: argparse._SubParsersAction[argparse.ArgumentParser],
    name: str,
    brief: str,
    text: str,
    *examples: str,
    mixed: bool = False,
    statuses: str = STATUSES,
) -> argparse.ArgumentParser:
    """A command's parser, with its examples and the exit statuses under its help; `worker` is the module that acts."""
    shown = "\n".join(f"  keyaction {example}" for example in examples)
    made = commands.add_parser(
        name,
        help=brief,
        description=textwrap.fill(text, WIDTH),
        epilog=f"example{'s' if len(examples) > 1 else ''}:\n{shown}\n\n{statuses}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    if isinstance(made, Parser):
        made.mixed = mixed
    made.set_defaults(worker=name)
    return made


def add_units(parser: argparse.ArgumentParser) -> None:
    """The option that chooses units."""
    parser.add_argument(
        "--units", choices=("trade", "si"), default="trade", help="mm, gf, mmH2O, ms; or SI (default: trade)"
    )


def add_case(parser: argparse.ArgumentParser, needed: bool = True, one: bool = False) -> None:
    """The case argument; where it is not `needed`, it is None unless given; `one`: a single division is needed."""
    told = "a case or instrument file, or the name of a shipped one such as demo-wood"
    parser.add_argument("case", metavar="CASE", nargs=None if needed else "?", help=told)
    add_division(parser, one)


def add_division(parser: argparse.ArgumentParser, one: bool = False) -> None:
    """The option that chooses divisions of an instrument, or the `one` that is needed."""
    parser.add_argument(
        "--division",
        metavar="NAME" if one else "NAMES",
        action="append",
        help="of an instrument the one division that is wanted"
        if one
        else "of an instrument only these divisions, commas between; may be given again (default: all)",
    )


def add_climate(parser: argparse.ArgumentParser, what: str = "") -> None:
    """The option that names the climate of a year; `what` says what it is for."""
    parser.add_argument(
        "--climate",
        metavar="FILE|NAME",
        help=f"{what}a CSV of date, temperature, humidity; 'wave', or a named state such as heated-dry-winter "
        "(default: the case's own, else the wave between a heated dry winter and a damp summer)",
    )


NOTES = "C4, C2:G4, C2:G6:12 or a comma list; of an instrument DIVISION/C4 too (default: all)"
"""What is said of --notes."""
