"""What every part of a train offers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from keyaction.models.algebra.builder import Builder
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Values

Shape = tuple[object, ...]


class Part:
    """One kind of part: its fields, its figures for a note, and its share of the equations.

    A part is added to the program by one file with one subclass, entered in ``parts/__init__.py``.
    """

    kind: ClassVar[str]
    title: ClassVar[str]
    role: ClassVar[str]
    """``key``, ``rod``, ``lever``, ``pallet``, ``spring``, ``groove`` or ``box``: where it may stand."""
    fields: ClassVar[tuple[Field, ...]]

    @classmethod
    def shape(cls, values: Values) -> Shape:  # noqa: ARG003  most parts have one shape only
        """What about the values changes the equations themselves (number of pieces, options)."""
        return ()

    @classmethod
    def resolve(cls, values: Values) -> None:
        """Compute the part's parameters from its fields, into ``values``."""
        raise NotImplementedError

    @classmethod
    def settle(cls, values: Values, train: Mapping[str, Values]) -> None:
        """Compute what depends on other parts (rest position), after all have been resolved."""

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:
        """Add the part's bodies, energies and forces to the equations."""
        raise NotImplementedError
