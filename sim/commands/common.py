"""What the commands share: where they print, exit statuses, and the units asked for."""

from __future__ import annotations

import argparse
import shutil
import sys
import textwrap

from rich.console import Console

DONE, FAILED, BAD_INPUT, STOPPED = 0, 1, 2, 130
"""Exit statuses: done; a note or a file failed; the input is wrong; stopped by Ctrl-C."""
WIDTH = 80

STATUSES = """\
exit status:
  0  done
  1  some notes failed, or a file could not be written
  2  wrong input; nothing was written
  130  stopped by Ctrl-C"""


def out() -> Console:
    """Console for results: 80 columns where it is no terminal, colourless in a pipe."""
    width = min(shutil.get_terminal_size((WIDTH, 24)).columns, 100) if sys.stdout.isatty() else WIDTH
    return Console(width=width, highlight=False, soft_wrap=False, emoji=False)


def err() -> Console:
    """Console for progress and complaints."""
    return Console(stderr=True, highlight=False, emoji=False, width=None if sys.stderr.isatty() else 1000)


def declare(
    commands: argparse._SubParsersAction[argparse.ArgumentParser], name: str, brief: str, text: str, *examples: str
) -> argparse.ArgumentParser:
    """A command's parser, with its examples and the exit statuses under its help."""
    shown = "\n".join(f"  keyaction {example}" for example in examples)
    return commands.add_parser(
        name,
        help=brief,
        description=textwrap.fill(text, WIDTH),
        epilog=f"example{'s' if len(examples) > 1 else ''}:\n{shown}\n\n{STATUSES}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )


def add_units(parser: argparse.ArgumentParser) -> None:
    """The option that chooses units."""
    parser.add_argument(
        "--units", choices=("trade", "si"), default="trade", help="mm, gf, mmH2O, ms; or SI (default: trade)"
    )


def add_case(parser: argparse.ArgumentParser) -> None:
    """The case argument."""
    parser.add_argument("case", metavar="CASE", help="a case file, or the name of a shipped case such as demo-wood")
