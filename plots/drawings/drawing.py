"""A drawing that knows no paper and no file: lines, circles, arcs, lettering and dimensions in mm of the real thing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from keyaction.plots.drawings.layers import Kind
from keyaction.plots.drawings.paper import Scale

Xy = tuple[float, float]


@dataclass(frozen=True)
class Stroke:
    """A line through points.

    Parameters
    ----------
    layer : str
    points : tuple of (float, float)
        mm, x to the right and y up.
    closed : bool
    of : str
        What it is, for instance ``between the arms C4``; of a mere line empty.
    kind : {"visible", "hidden", "centre"}, optional
        By default the layer's.
    """

    layer: str
    points: tuple[Xy, ...]
    closed: bool = False
    of: str = ""
    kind: Kind | None = None


@dataclass(frozen=True)
class Circle:
    """A circle; `radius` in mm."""

    layer: str
    centre: Xy
    radius: float
    of: str = ""


@dataclass(frozen=True)
class Arc:
    """An arc from angle `start` anticlockwise to `end`, radians from the x axis; `radius` in mm."""

    layer: str
    centre: Xy
    radius: float
    start: float
    end: float
    of: str = ""


@dataclass(frozen=True)
class Text:
    """Lettering.

    Parameters
    ----------
    at : (float, float)
        mm of the real thing.
    words : str
        One line.
    height : float
        Of capital letters, mm on paper.
    angle : float
        Radians, anticlockwise, about `at`.
    across : {"left", "middle", "right"}
        Which end of the line stands at the point.
    along : {"foot", "middle", "top"}
        Which height of its capitals.
    layer : str
    of : str
        ``note`` of a note's name.
    """

    at: Xy
    words: str
    height: float = 2.5
    angle: float = 0.0
    across: Literal["left", "middle", "right"] = "left"
    along: Literal["foot", "middle", "top"] = "foot"
    layer: str = "TEXT"
    of: str = ""


@dataclass(frozen=True)
class Dimension:
    """A length between two points, with its figure.

    Parameters
    ----------
    start, end : (float, float)
        What is measured, mm.
    away : float
        How far beside the points the dimension line stands, mm on paper, to the left as one goes from start to end.
    direction : {"along", "across", "up"}
        Whether the distance itself is told, or its share in x or in y.
    of : str
        What it is.
    places : int
        Decimals of the figure, in mm.
    """

    start: Xy
    end: Xy
    away: float = 8.0
    direction: Literal["along", "across", "up"] = "along"
    of: str = ""
    places: int = 1


Item = Stroke | Circle | Arc | Text | Dimension


@dataclass(frozen=True)
class Drawing:
    """One drawing.

    Parameters
    ----------
    name : str
        Of its files.
    what : str
        What it shows, and from where it is seen.
    scale : Scale
        For which its lettering is laid out.
    items : tuple
        On layers of `LAYERS`.
    remarks : tuple of str
        What has to be said beside it.
    crowded : bool
        Whether lettering found no room of its own at this scale.
    """

    name: str
    what: str
    scale: Scale
    items: tuple[Item, ...]
    remarks: tuple[str, ...] = ()
    crowded: bool = False

    def on(self, layer: str) -> Iterator[Item]:
        """Items of a layer; dimensions are on DIMENSIONS."""
        return (item for item in self.items if layer_of(item) == layer)


def layer_of(item: Item) -> str:
    """The layer on which an item stands."""
    return "DIMENSIONS" if isinstance(item, Dimension) else item.layer
