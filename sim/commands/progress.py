"""How far a command is, as a bar on a terminal; nothing in a pipe."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn, TimeRemainingColumn
from rich.progress import Progress as Rich

from keyaction.sim.commands.console import err


class Bar:
    """A bar that is being shown, or is not wanted."""

    def __init__(self, shown: Rich, words: str, total: int | None) -> None:
        self._shown = shown
        self._task = shown.add_task(words, total=total, more="")

    def step(self, words: str) -> None:
        """One more is done: `words` say which."""
        self._shown.update(self._task, advance=1, description=words)

    def at(self, done: int, total: int, more: str) -> None:
        """So many of so many are done; `more` is told behind the times."""
        self._shown.update(self._task, completed=done, total=total, more=more)


@contextmanager
def progress(words: str, total: int | None = None, wanted: bool = True) -> Iterator[Bar]:
    """Show a bar with how many of how many are done, the time gone by and the time left.

    Parameters
    ----------
    words : str
        What is being done.
    total : int, optional
        How many there are, once that is known.
    wanted : bool
        With False nothing is shown on a terminal either.
    """
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TextColumn("left"),
        TimeRemainingColumn(),
        TextColumn("{task.fields[more]}"),
    )
    with Rich(*columns, console=err(), disable=not (wanted and sys.stderr.isatty()), transient=True) as shown:
        yield Bar(shown, words, total)
