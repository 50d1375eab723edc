"""What SciPy says of designs: it decides those in which the lanes are in doubt, and judges a sample of all."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import Train
from keyaction.sim.figures.columns import QUANTITIES, of_verdict
from keyaction.sim.figures.play import NotPlayed, confirm_repetition, play_record
from keyaction.sim.figures.possible import impossible
from keyaction.sim.figures.record import Pressed, Record
from keyaction.sim.figures.registry import Quantity
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.figures.verdict import verdict
from keyaction.sim.motion.integrate import Floats, Tolerances
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.strokes import standard_stroke

ALLOWED = 0.005
"""Largest share by which a quantity may differ from the lanes to SciPy."""
ALIKE = ALLOWED / 2
"""Share by which it may differ among three steps, and among SciPy's tolerances: three may be alike by chance."""
FINER = (1, 10, 100)
"""Shares of the usual errors at which SciPy decides."""


@dataclass(frozen=True)
class Check:
    """How far the figures of designs can be trusted.

    Attributes
    ----------
    compared, worst, quantity, design : int, float, str, int
        Designs of the sample; its largest difference, of which quantity and which design.
    step : float
        Time step of the lanes, s.
    doubtful, sensitive : int
        Designs that SciPy decided, and those of them in which it does not confirm itself at another tolerance.
    """

    compared: int
    worst: float
    quantity: str
    design: int
    step: float
    doubtful: int = 0
    sensitive: int = 0

    @property
    def passed(self) -> bool:
        return not self.compared or self.worst <= ALLOWED

    def __str__(self) -> str:
        if not self.compared:
            return "no design was played again as a check"
        count = f"{self.compared} design{'s' * (self.compared != 1)}"
        label = QUANTITIES[self.quantity].label if self.quantity in QUANTITIES else self.quantity
        told = f"{count} played again one by one as a check (SciPy): largest difference {self.worst:.2%} ({label}), "
        told += f"step {self.step * 1e6:.0f} us; {self.doubtful} in doubt were decided so"
        return told if self.passed else f"{told}; beyond {ALLOWED:.1%}"


@dataclass(frozen=True)
class Decision:
    """Figures of a design in doubt by name; its repetition; what hangs on the tolerance, with both values."""

    figures: Mapping[str, float]
    rate: Repetition
    sensitive: str


def decided(note: Pressed, wanted: Sequence[Quantity], rate: Repetition) -> Decision:
    """Let SciPy decide a design at its usual tolerance, a tenth and a hundredth; the figures are those of the last.

    Parameters
    ----------
    note : Pressed
    wanted : sequence of Quantity
        Those of motions are played.
    rate : Repetition
        As the lanes found it.
    """
    usual = NoteModel(note.model.train, Tolerances())
    found, told = _strokes(note, usual, wanted)
    if any(one.source == "repetition" for one in wanted):
        rate = confirm_repetition(usual, note.strokes, rate, sure=True)
        found["repetition_rate"] = rate.rate
        told += [f"repetition_rate {rate.sensitive}"] if rate.sensitive else []
    return Decision(found, rate, "; ".join(told))


def _strokes(note: Pressed, usual: NoteModel, wanted: Sequence[Quantity]) -> tuple[dict[str, float], list[str]]:
    """Figures of the standard stroke, and which of them differ at three tolerances: two may be alike by chance."""
    played = [one for one in wanted if one.source == "stroke"]
    if not played:
        return {}, []
    found = []
    for times in FINER:
        stroke = usual.play(standard_stroke(usual, note.strokes), usual.tolerances.finer(times))
        record = Record(note.model, note.strokes, note.press, stroke, {}, Repetition(float("nan"), "", 0))
        found.append({one.name: one.compute(record) if stroke.status.ok else float("nan") for one in played})
    told = [_apart(one, [figures[one.name] for figures in found]) for one in played]
    return found[-1], [text for text in told if text]


def _apart(one: Quantity, values: Sequence[float]) -> str:
    """The two values of a figure that lie furthest apart; empty where all are alike."""
    apart = {pair: one.resolution.difference(*pair) for pair in combinations(values, 2)}
    if all(difference <= ALIKE for difference in apart.values()):
        return ""
    first, other = max(apart, key=lambda pair: (np.isnan(apart[pair]), apart[pair]))
    return f"{one.name} {first:.4g} or {other:.4g} {one.unit}".rstrip()


def judges(
    train: Callable[[int], Train], count: int, strokes: Strokes, names: Sequence[str], sample: int
) -> dict[int, Mapping[str, float]]:
    """SciPy's figures of a sample, spread evenly over so many designs; a design that it cannot play is no judge.

    Where one is impossible the design has none, as it has none in lanes. The repetition rate is searched only where it
    is asked for: the search is nearly all of a judge's work.
    """
    if not sample or not count:
        return {}
    told: dict[int, Mapping[str, float]] = {}
    searched = any(QUANTITIES[name].source == "repetition" for name in names)
    rate = None if searched else Repetition(float("nan"), "", 0)
    for i in np.unique(np.linspace(0, count - 1, min(sample, count)).astype(int)).tolist():
        try:
            record = play_record(NoteModel(train(i), Tolerances()), strokes, rate)
        except NotPlayed:
            continue
        figures = of_verdict({name: float(QUANTITIES[name].compute(record)) for name in names}, verdict(record))
        told[i] = dict.fromkeys(figures, float("nan")) if impossible(figures) else figures
    return told


def compared(told: Mapping[int, Mapping[str, float]], found: Mapping[str, Floats], step: float) -> Check:
    """The sample's largest difference."""
    worst, where, which = 0.0, "none", -1
    for i, figures in told.items():
        for name, theirs in figures.items():
            difference = QUANTITIES[name].resolution.difference(float(found[name][i]), theirs)
            if difference > worst or np.isnan(difference):
                worst, where, which = difference, name, i
    return Check(len(told), worst, where, which, step)
