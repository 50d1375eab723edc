"""The layout of a division: where each note stands at key and pallet, and what lies between."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from keyaction.models.instrument.board import Board
from keyaction.models.instrument.chest import Chest
from keyaction.models.instrument.keyboard import Keyboard
from keyaction.models.instrument.path import Path
from keyaction.models.instrument.place import Place


@dataclass(frozen=True)
class Layout:
    """Everything that follows from where keys, chest and axes stand.

    Parameters
    ----------
    division : str
        Its name; empty of an action case alone.
    keyboard : Keyboard
    chest : Chest
    order : str
        What the order of the chest is called.
    places : mapping of int to Place
    board : Board, optional
    splayed : str
        The rod or lever that goes slantwise from key to pallet, in place of rollers; empty if none does.
    paths : mapping of int to Path
        Empty where no places of axes are given.
    figures : mapping of str to mapping of int to float
        What fields may take: ``roller.length``, ``drop.length``, ``drop.splay`` ... by note, SI.
    remarks : tuple of str
        What a builder should hear: rollers as short as can be, keys straight under their pallets, a board too low ...
    """

    division: str
    keyboard: Keyboard
    chest: Chest
    order: str
    places: Mapping[int, Place]
    board: Board | None
    splayed: str
    paths: Mapping[int, Path]
    figures: Mapping[str, Mapping[int, float]]
    remarks: tuple[str, ...]
