"""What is kept of one quantity while its designs are read, and what comes of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.analysis.columns import Input
from keyaction.sim.analysis.indices import MorrisScreening, MorrisSums, SobolIndices, SobolSums, Steps
from keyaction.sim.analysis.pieces import Piece, Pieces
from keyaction.sim.analysis.spread import KEPT, MedianSteps, Spread, SpreadSums, bracket

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Looked:
    """What the designs tell of a quantity: how it spreads, and indices or screening if the plan gives them."""

    spread: Spread
    indices: SobolIndices | None
    screening: MorrisScreening | None


class Look:
    """Sums over the designs, filled piece by piece.

    Parameters
    ----------
    pieces : Pieces
    inputs : sequence of Input
    quantity : str
    note : int
    """

    def __init__(self, pieces: Pieces, inputs: Sequence[Input], quantity: str, note: int) -> None:
        self._pieces, self._quantity, self._note = pieces, quantity, note
        k, blocks = len(inputs), pieces.blocks
        self._spread = SpreadSums()
        self._sobol = SobolSums(k, pieces.second_order, blocks) if pieces.plan == "sobol" and k else None
        self._morris = MorrisSums(k, blocks) if pieces.plan == "morris" and k else None
        many = len(pieces.rows) > KEPT
        self._middle = MedianSteps(*bracket(pieces.sample(quantity, note))) if many else None

    def add(self, values: Floats, piece: Piece, steps: Steps | None) -> None:
        """Take the next piece; of a Morris plan with the steps of its trajectories."""
        self._spread.add(values)
        if self._middle is not None:
            self._middle.add(values)
        if self._sobol is not None:
            self._sobol.add(piece.placed(values))
        if self._morris is not None and steps is not None:
            self._morris.add(steps.effects(piece.placed(values)))

    def done(self) -> Looked:
        """What came of it."""
        return Looked(
            self._spread.spread(self._median()),
            None if self._sobol is None else self._sobol.indices(),
            None if self._morris is None else self._morris.screening(),
        )

    def _median(self) -> float:
        """The median; if it lies elsewhere than was thought, the designs are read again."""
        kept = self._spread.kept
        if kept is not None:
            return float(np.median(kept))
        steps = self._middle
        while steps is not None and self._spread.count and (side := steps.outside()):
            least, largest = self._spread.least, self._spread.largest
            low, high = (least, min(steps.low, largest)) if side < 0 else (max(steps.high, least), largest)
            steps = MedianSteps(low, high)
            for piece in self._pieces:
                steps.add(self._pieces.values(self._quantity, self._note, piece.rows))
        return steps.median() if steps is not None and self._spread.count else float("nan")
