"""Where the commands print."""

from __future__ import annotations

import shutil
import sys
import textwrap
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
    """Console for results: 80 columns where it is no terminal, or one so narrow that tables would lose figures."""
    width = min(max(shutil.get_terminal_size((WIDTH, 24)).columns, WIDTH), 100) if sys.stdout.isatty() else WIDTH
    return _Clean(width=width, highlight=False, soft_wrap=False, emoji=False)


def err() -> Console:
    """Console for progress and complaints."""
    return _Clean(stderr=True, highlight=False, emoji=False, width=None if sys.stderr.isatty() else 1000)


def tell(text: str) -> None:
    """A remark or complaint: on a terminal broken at words, later lines further in; in a pipe one line as it is."""
    console = err()
    if console.is_terminal:
        whole = {"subsequent_indent": "  ", "break_long_words": False, "break_on_hyphens": False}
        text = "\n".join(textwrap.fill(line, console.width, **whole) for line in text.split("\n"))  # type: ignore[arg-type]
    console.print(text, markup=False, soft_wrap=True)
