"""Where the commands print."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterable
from typing import Any

from rich.console import Console, ConsoleOptions
from rich.segment import Segment

from keyaction.cases.text.signs import without_unseen
from keyaction.sim.commands.common import WIDTH


class _Clean(Console):
    """Prints no sign that cannot be seen: what a file or an option says must not move the cursor."""

    def render(self, renderable: Any, options: ConsoleOptions | None = None) -> Iterable[Segment]:
        for one in super().render(renderable, options):
            yield one if one.control else Segment(without_unseen(one.text), one.style)


def out() -> Console:
    """Console for results: 80 columns where it is no terminal, colourless in a pipe."""
    width = min(shutil.get_terminal_size((WIDTH, 24)).columns, 100) if sys.stdout.isatty() else WIDTH
    return _Clean(width=width, highlight=False, soft_wrap=False, emoji=False)


def err() -> Console:
    """Console for progress and complaints."""
    return _Clean(stderr=True, highlight=False, emoji=False, width=None if sys.stderr.isatty() else 1000)
