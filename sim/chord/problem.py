"""What is wrong with a chord."""

from __future__ import annotations

from collections.abc import Sequence


class ChordProblem(ValueError):
    """A chord that cannot be played; `defects` lists every reason."""

    def __init__(self, defects: Sequence[str]) -> None:
        self.defects = tuple(defects)
        super().__init__("\n".join(self.defects))

    def __reduce__(self) -> tuple[type[ChordProblem], tuple[tuple[str, ...]]]:
        return ChordProblem, (self.defects,)
