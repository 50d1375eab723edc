"""Pictures of one note and of the compass: what all of a kind do before they draw, and how their arguments are told."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from typing import Protocol, TypeVar

from matplotlib.figure import Figure

from keyaction.models.units.quantity import System
from keyaction.plots.style.page import in_style, nothing_to_draw, tell_verdict
from keyaction.plots.style.reading import missing, no_notes, unsound
from keyaction.sim.files.labelled import Result

Drawn = TypeVar("Drawn", bound=Callable[..., Figure])

_RETURNS = "Returns\n-------\n"
_RESULT = "result : Result\n"
_NOTE = "note : str\n    Name of a note of the result.\n"
_UNITS = 'units : {"trade", "si"}\n'
_NO_NOTE = "KeyError\n    If the result does not hold the note.\n"


class NotePicture(Protocol):
    """A picture of one note."""

    def __call__(self, result: Result, note: str, units: System = "trade") -> Figure: ...


class CompassPicture(Protocol):
    """A picture of all notes."""

    def __call__(self, result: Result, units: System = "trade") -> Figure: ...


def of_note(heading: str, *needed: str) -> Callable[[Callable[[Result, int, str, System], Figure]], NotePicture]:
    """Make a picture of one note from what draws it, ``draw(result, row, heading, units)``.

    Where the note failed, or the result lacks one of the variables `needed`, a page says so in its place. A verdict
    that is not the sound one stands under the title.
    """

    def made(draw: Callable[[Result, int, str, System], Figure]) -> NotePicture:
        @in_style
        def picture(result: Result, note: str, units: System = "trade") -> Figure:
            row = result.index(note)
            full = f"{heading}, {result.notes[row]}"
            why = missing(result, row, *needed)
            figure = nothing_to_draw(result, full, why) if why else draw(result, row, full, units)
            tell_verdict(figure, unsound(result, row))
            return figure

        return _told(picture, draw, _RESULT + _NOTE + _UNITS, _NO_NOTE)

    return made


def of_compass(heading: str) -> Callable[[Callable[[Result, str, System], Figure]], CompassPicture]:
    """Make a picture of all notes from what draws it, ``draw(result, heading, units)``.

    Where no note could be played, a page says so in its place.
    """

    def made(draw: Callable[[Result, str, System], Figure]) -> CompassPicture:
        @in_style
        def picture(result: Result, units: System = "trade") -> Figure:
            why = no_notes(result)
            return nothing_to_draw(result, heading, why) if why else draw(result, heading, units)

        return _told(picture, draw, _RESULT + _UNITS)

    return made


def _told(picture: Drawn, draw: Callable[..., Figure], parameters: str, raises: str = "") -> Drawn:
    """The picture under the name of what draws it, whose docstring has a summary and what is returned."""
    picture.__module__, picture.__name__, picture.__qualname__ = draw.__module__, draw.__name__, draw.__qualname__
    summary, _, returns = inspect.cleandoc(draw.__doc__ or "").partition(_RETURNS)
    picture.__doc__ = f"{summary}Parameters\n----------\n{parameters}\n{_RETURNS}{returns}"
    if raises:
        picture.__doc__ += f"\n\nRaises\n------\n{raises}"
    return picture
