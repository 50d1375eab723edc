"""What each note of a design has of its own: its pieces of wood, its pin, its spring as set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.study.spreads import Piece, allowed_deviations
from keyaction.models.fields.values import Given
from keyaction.models.many import maths
from keyaction.models.many.many import Many
from keyaction.models.materials.library import Library
from keyaction.models.train.given import AnyPart, with_values

ORIGIN = "drawn for the note"


def drawn(
    parts: Sequence[AnyPart], pieces: Sequence[Piece], library: Library, seed: int, design: int, note: int
) -> list[AnyPart]:
    """The parts of one note with its own deviations.

    Parameters
    ----------
    parts : sequence of AnyPart
        As the design has them at this note, whatever all its notes share being changed already.
    pieces : sequence of Piece
        In the study's order: what is drawn for a note hangs on the seed, the design's number and the note alone.
    library : Library
        Likewise.
    seed, design, note : int

    Returns
    -------
    list of AnyPart
    """
    return deviated(parts, pieces, library, shares_of(pieces, seed, design, note).tolist())


def shares_of(pieces: Sequence[Piece], seed: int, design: int, note: int) -> NDArray[np.float64]:
    """What is drawn for a note of a design: of each piece the share of its span."""
    return np.random.default_rng([seed, design, note]).random(len(pieces))


def deviated(
    parts: Sequence[AnyPart], pieces: Sequence[Piece], library: Library, shares: Sequence[float]
) -> list[AnyPart]:
    """The parts of one note with pieces that deviate by shares of their spans; those of many designs may be one."""
    made: dict[str, dict[str, Given]] = {name: dict(given) for _, name, given, *_ in parts}
    for piece, share in zip(pieces, shares, strict=True):
        deviate(made[piece.part], piece, share, library)
    return [with_values(part, made[part[1]]) for part in parts]


def deviate(given: dict[str, Given], piece: Piece, share: float, library: Library) -> None:
    """Let one piece of a part deviate; a field that the part does not have is left alone."""
    own = value_of(given, piece, library)
    if own is not None:
        one = piece.deviation
        moved = _moved(piece, share, *allowed_deviations(piece.field, own, one.factor))
        given[piece.path] = Given(own * moved if one.factor else own + moved, ORIGIN)


def _moved(piece: Piece, share: float, least: float, most: float) -> float:
    """The deviation at a share of its span between two ends."""
    if not isinstance(share, Many):
        return piece.deviation.one(share, (least, most))
    ends = (one.values if isinstance(one, Many) else one for one in (least, most))
    return share.with_values(piece.deviation.several(share.values, *ends))


def value_of(given: Mapping[str, Given], piece: Piece, library: Library) -> float | None:
    """What a piece is without its own deviation; None where the part does not have it."""
    if piece.path in given:
        return maths.number(given[piece.path].value)
    if not piece.material or piece.material not in given:
        return None
    material = library.get(str(given[piece.material].value))
    what = piece.path.rpartition(".")[2]
    return material[what].value if what in material else None
