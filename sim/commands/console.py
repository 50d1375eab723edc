"""Where the commands print."""

from __future__ import annotations

import shutil
import sys

from rich.console import Console

from keyaction.sim.commands.common import WIDTH


def out() -> Console:
    """Console for results: 80 columns where it is no terminal, colourless in a pipe."""
    width = min(shutil.get_terminal_size((WIDTH, 24)).columns, 100) if sys.stdout.isatty() else WIDTH
    return Console(width=width, highlight=False, soft_wrap=False, emoji=False)


def err() -> Console:
    """Console for progress and complaints."""
    return Console(stderr=True, highlight=False, emoji=False, width=None if sys.stderr.isatty() else 1000)
