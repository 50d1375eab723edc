"""What every part of a train offers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, ClassVar

from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Values

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder

Shape = tuple[object, ...]
Shown = Callable[[str], str]
"""A derived figure of a part, by name, with its unit."""


class Part:
    """One kind of part: its fields, its figures for a note, and its share of the equations.

    A part is added to the program by one file with one subclass, entered in ``parts/__init__.py``.
    """

    kind: ClassVar[str]
    title: ClassVar[str]
    role: ClassVar[str]
    """``key``, ``rod``, ``lever``, ``pallet``, ``spring``, ``groove``, ``box`` or ``coupler``: where it may stand."""
    fields: ClassVar[tuple[Field, ...]]

    outlets: ClassVar[tuple[str, ...]] = ()
    """Names of its places from which a rod may lead on; the first is the usual one."""
    stages: ClassVar[tuple[tuple[str, str], ...]] = ()
    """What changes as it is played: a recorded quantity, or the place of an element, that then is 0; and words."""
    rubs: ClassVar[tuple[str, ...]] = ()
    """Parameters without which the part would not rub, or swing slowly: it is brought to rest without them."""

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
    def driven(cls, values: Values) -> None:
        """Of a key that is not the played one: compute what it has because couplers move it."""

    @classmethod
    def join(cls, values: Values, before: Values, outlet: str, behind: Values) -> None:
        """Of a rod: compute what depends on the bodies that it joins: from an outlet of one, to the one `behind` it."""

    @classmethod
    def hooked(cls, values: Values, end: str, rod: Values) -> None:
        """Of a body: compute what depends on the rod at one end: ``in``, the one before it, or one of its outlets."""

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:
        """Add the part's bodies, energies and forces to the equations."""
        raise NotImplementedError

    @classmethod
    def brief(cls, values: Values, shown: Shown) -> str:  # noqa: ARG003  a part without a word for itself
        """What a drawing says of the part in some words; `shown` writes one of its derived figures."""
        return ""
