"""What a layout that cannot be says."""

from __future__ import annotations

from collections.abc import Sequence


class LayoutProblem(ValueError):
    """A layout that cannot be built; `defects` lists every reason, each with its notes."""

    def __init__(self, defects: Sequence[str]) -> None:
        self.defects = tuple(defects)
        super().__init__("\n".join(self.defects))

    def __reduce__(self) -> tuple[type[LayoutProblem], tuple[tuple[str, ...]]]:
        return LayoutProblem, (self.defects,)
