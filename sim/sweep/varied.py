"""What a study varies, over many designs at once: values, choices, and what they change."""

from __future__ import annotations

import numpy as np

from keyaction.cases.study.inputs import Input
from keyaction.cases.study.spans import Choices
from keyaction.models.many.many import Blanks, Many
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.sweep.designs import Change, chosen_at, words
from keyaction.sim.sweep.grouped import Places


class Varied:
    """One input over the designs: its values, which choice that is, and what it changes."""

    def __init__(self, one: Input, own: float | str, places: Floats) -> None:
        self.input, self.places = one, places
        given = ~np.isnan(places)
        as_in_case = float(words(one, own).index(str(own))) if one.chosen else float(own)
        self.values, self.choice = np.full(len(places), as_in_case), np.where(given, 0, -1)
        found = one.span.at(places[given])
        if isinstance(one.span, Choices):
            numbers = range(len(one.span.values)) if one.chosen else one.span.values
            found = np.array([float(value) for value in numbers])[found] if len(found) else np.zeros(0)
            if not _measures(one):
                self.choice[given] = one.span.at(places[given])
        self.values[given] = found

    def key(self, d: int) -> tuple[int, float]:
        """What designs have in common in which it is the same."""
        return int(self.choice[d]), float(self.values[d]) if self.choice[d] >= 0 else 0.0

    def changes(self, designs: Places, blanks: Blanks) -> list[Change]:
        """What it changes in designs that have the same choice."""
        if self.choice[designs[0]] < 0:
            return []
        if self.input.chosen or not _measures(self.input):
            return chosen_at(self.input, "", self.places[designs[0]])[1]
        many = Many(self.values[designs], blanks)
        return [(target, many, self.input.how) for target in self.input.targets]  # type: ignore[misc]


def _measures(one: Input) -> bool:
    """Whether an input's values are numbers that parts compute with; each of others is built by itself."""
    if not isinstance(one.span, Choices):
        return True
    return not (one.chosen or one.settings) and all(t.field.kind in ("quantity", "number") for t in one.targets)
