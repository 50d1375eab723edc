"""Tuning the springs of a case: the pluck that is wanted, within limits that must hold with it.

The pluck is a line of the spring's force but for the seat, which gives a little more under a stronger spring; the
line is drawn anew until it holds. Closing margin, release and repetition get better with a stronger spring: each is a
least force. Designs are evaluated in lanes, all notes at once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.case import Case
from keyaction.cases.tuning.targets import Targets
from keyaction.models.train.train import Train
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.figures.play import NotPlayed, play_record, press_note, reason_of
from keyaction.sim.figures.repetition import STEP, Repetition
from keyaction.sim.figures.verdict import Fate, Verdict, verdict
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.tune.bench import Bench, Design, build_of, closing_force, opening_over_toes
from keyaction.sim.tune.friction import Rubbing, out_of_line
from keyaction.sim.tune.solve import Line, nearest, steps
from keyaction.sim.weighing.weighoff import closing_margin

Places = NDArray[np.int64]

HELD = 3e-4
"""Share of the pluck to which the line must hold."""
ROUNDS, HALVINGS = 8, 9
"""Most times that the line is drawn; halvings in the search for the least force."""
EVEN = 2e-3
"""Share by which a step may exceed what is allowed: the accuracy of the line."""
PROBE = 0.2
"""N between the two springs that draw the first line."""
WANTED = ("pluck_force", "steady_lift", "release_delay", "repetition_rate")
"""Quantities that decide."""
TIMES = {"return_time": "release_delay", "repetition": "repetition_rate"}
"""Limits that are searched for a least force, and their quantity."""
NEAR = 0.3
"""Share of the tolerance within which a changed note is brought to its goal."""
SAFE = {"return_time": 0.99, "repetition": 1.0}
"""Share of the limit that the search asks for, where lanes and SciPy may differ a little."""
SAFE_STEP = {"return_time": 0.0, "repetition": STEP}
"""And what it asks for beyond that: one step of the search of the repetition rate."""
SLACK = 1e-6
"""N within which a spring is at its bound."""


@dataclass(frozen=True)
class TunedNote:
    """What became of one note; forces in N.

    Attributes
    ----------
    note : int
    before, force : float
        Spring force on the closed pallet, of the case and tuned.
    pluck_before, target : float
        Pluck force with the case's spring; what was wanted, NaN where nothing was.
    figures : mapping
        Quantities of the tuned note in lanes, its ``closing`` margin (N at the eye) and ``feed``.
    bound : str
        The limit that the spring stands at: a name of the targets, or empty.
    faults : tuple of str
        What it does not meet: ``pluck``, ``even``, ``closing``, ``return_time``, ``repetition``, ``feed``; or
        ``friction`` alone, where that is out of line and nothing else was looked at.
    goal : float
        A pluck near its own that would do.
    slope : float
        Rise of the pluck with the spring's force, N/N.
    kept : bool
        Whether it keeps its spring: no spring that was found opens its pallet, or its friction is out of line.
    reason : str
        Why it cannot be played, as `run` tells it; empty where it can.
    rubbing : Rubbing, optional
        Friction out of line with the neighbours'.
    verdict : Verdict, optional
        What becomes of the note with the spring it ends with, where that is known and not as it should be.
    """

    note: int
    before: float
    force: float
    pluck_before: float
    target: float
    figures: Mapping[str, float]
    bound: str
    faults: tuple[str, ...]
    goal: float
    slope: float
    kept: bool = False
    reason: str = ""
    rubbing: Rubbing | None = None
    verdict: Verdict | None = None

    @property
    def pluck(self) -> float:
        """Pluck force with the tuned spring."""
        return self.figures["pluck_force"]


def meets(name: str, value: float, limit: float) -> bool:
    """Whether a figure meets its limit; one that there is not does not."""
    return bool(value <= limit) if name == "return_time" else bool(value >= limit - 1e-9)


class _Search:
    """The search over the notes of a case."""

    def __init__(self, bench: Bench, notes: Sequence[int], targets: Targets) -> None:
        self.bench, self.notes, self.targets = bench, list(notes), targets
        trains = [build_of(bench.case, note, {}) for note in notes]
        self.before = np.array([train.role("spring").values.derived["force"].value for train in trains])
        closing = [closing_force(train, margin) for train, margin in zip(trains, targets.closing, strict=True)]
        self.low, self.high = np.maximum(targets.weakest, closing), targets.strongest.copy()
        self.binding = ["closing" if c >= w else "weakest" for c, w in zip(closing, targets.weakest, strict=True)]
        self.too_weak = self.low > self.high
        self.low = np.minimum(self.low, self.high)
        self.rubbing = out_of_line(bench, self.notes, targets.friction)
        self.left = np.array([note in self.rubbing for note in self.notes])
        self.low, self.high = (np.where(self.left, self.before, bound) for bound in (self.low, self.high))

    def figures(self, force: Floats, wanted: Sequence[str], which: Places | None = None) -> dict[str, Floats]:
        """Quantities of the notes, or some of them, with these springs."""
        chosen = range(len(self.notes)) if which is None else which
        designs = [Design(self.notes[i], float(f)) for i, f in zip(chosen, force, strict=True)]
        return self.bench.figures(designs, wanted)[1]

    def run(self) -> list[TunedNote]:
        """Tune."""
        pluck = self.figures(self.before, ["pluck_force"])["pluck_force"]
        self.pluck_before = pluck
        self.wanted = np.where(np.isnan(self.targets.pluck), pluck, self.targets.pluck)
        start = np.clip(self.before, self.low, self.high)
        line = self._first_line(start)
        force, excess = self._settle(line)
        raised = self._raise(force)
        if np.any(raised):
            force, excess = self._settle(self.line)
        return self._judged(force, excess)

    def _first_line(self, start: Floats) -> Line:
        there = start + PROBE
        plucks = [self.figures(force, ["pluck_force"])["pluck_force"] for force in (start, there)]
        slope = (plucks[1] - plucks[0]) / PROBE
        self.opens = np.isfinite(slope) & (slope > 0)
        self.free = self.opens & ~self.left
        lacking = np.where(np.isfinite(plucks[0]), plucks[0], 1.0)
        self.wanted = np.where(np.isfinite(self.wanted), self.wanted, lacking)
        usual = float(np.median(slope[self.opens])) if np.any(self.opens) else 1.0
        return Line(start, np.where(self.opens, plucks[0], self.wanted), np.where(self.opens, slope, usual))

    def _settle(self, line: Line) -> tuple[Floats, Floats]:
        """Solve and draw the line anew until it holds; `self.line` is the last one."""
        both = self.free & np.append(True, self.free[:-1])
        rows = steps(np.array(self.notes), np.where(both, self.targets.even, np.inf), self.wanted)
        for _ in range(ROUNDS):
            force, excess = nearest(line, self.wanted, self.low, self.high, rows)
            pluck = self.figures(force, ["pluck_force"])["pluck_force"]
            self.mute = ~np.isfinite(pluck)
            pluck = np.where(self.mute, line.at(force), pluck)
            miss = np.abs(line.at(force) - pluck) / pluck
            line = Line(force, pluck, self._slope(line, force, pluck))
            if np.max(miss) < HELD:
                break
        self.line = line
        return force, excess

    def _slope(self, line: Line, force: Floats, pluck: Floats) -> Floats:
        """The chord from where the line was drawn, of springs far enough from it: near lifting off it is no line."""
        with np.errstate(divide="ignore", invalid="ignore"):
            chord = (pluck - line.pluck) / (force - line.force)
        far = (np.abs(force - line.force) > PROBE / 10) & np.isfinite(chord) & (chord > 0) & ~self.mute
        return np.where(far, chord, line.slope)

    def _raise(self, force: Floats) -> bool:
        """Raise the bounds of notes that are too slow; whether any was."""
        found = self.figures(force, list(TIMES.values()))
        changed = False
        for name, quantity in TIMES.items():
            limit = getattr(self.targets, name)
            late = [not meets(name, v, one) for v, one in zip(found[quantity], limit, strict=True)]
            slow = np.flatnonzero(late & self.free)
            if len(slow):
                least = self._least(name, quantity, slow, force[slow])
                for i, bound in zip(slow, least, strict=True):
                    if bound > self.low[i]:
                        self.low[i], self.binding[i], changed = bound, name, True
        return changed

    def _least(self, name: str, quantity: str, which: Places, low: Floats) -> Floats:
        """The least force that meets a limit, between one that does not and the strongest; the strongest if none."""
        limit = SAFE[name] * getattr(self.targets, name)[which] + SAFE_STEP[name]
        low, high = low.copy(), self.high[which].copy()

        def good(force: Floats) -> NDArray[np.bool_]:
            values = self.figures(force, [quantity], which)[quantity]
            return np.array([meets(name, v, one) for v, one in zip(values, limit, strict=True)])

        reach = np.minimum(np.maximum(2 * low, 1.0), high)
        while np.any(open_ := ~good(reach) & (reach < high)):
            low = np.where(open_, reach, low)
            reach = np.where(open_, np.minimum(2 * reach, high), reach)
        high = reach
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            passed = good(middle)
            low, high = np.where(passed, low, middle), np.where(passed, middle, high)
        return np.asarray(high)

    def _judged(self, force: Floats, excess: Floats) -> list[TunedNote]:
        sought, force = force, np.where(self.mute | self.left, self.before, force)
        designs = [Design(note, float(f)) for note, f in zip(self.notes, force, strict=True)]
        trains, found = self.bench.figures(designs, WANTED)
        found["closing"] = np.array([closing_margin(train) for train in trains])
        found["feed"] = np.array([opening_over_toes(t, q) for t, q in zip(trains, found["steady_lift"], strict=True)])
        ceiling = self._even_ceiling(found["pluck_force"], excess)
        told = []
        for i, note in enumerate(self.notes):
            figures = {name: float(values[i]) for name, values in found.items()}
            faults = self._faults(i, figures, bool(figures["pluck_force"] > ceiling[i]))
            told.append(
                TunedNote(
                    note,
                    float(self.before[i]),
                    float(force[i]),
                    float(self.pluck_before[i]),
                    float(self.targets.pluck[i]),
                    figures,
                    "" if self.mute[i] or self.left[i] else self._bound(i, float(force[i])),
                    faults,
                    self._goal(i, figures["pluck_force"], float(ceiling[i])),
                    float(self.line.slope[i]),
                    bool(self.mute[i] or self.left[i]),
                    self._unplayed(i, float(sought[i])) if self.mute[i] else "",
                    self.rubbing.get(note),
                    self._unsound(trains[i]) if faults else None,
                )
            )
        return told

    def _unplayed(self, i: int, sought: float) -> str:
        """Why a note cannot be played with its own spring, or else with the one that was sought; empty if it can."""
        for force in (float(self.before[i]), sought):
            train = self.bench.train(Design(self.notes[i], force))
            try:
                play_record(NoteModel(train), self.bench.case.strokes, Repetition(np.nan, "", 0))
            except Exception as problem:  # the reason is kept with the note, the others go on
                return reason_of(problem)
        return ""

    def _unsound(self, train: Train) -> Verdict | None:
        """What becomes of a note that does not speak and fall silent as it should; None where it does."""
        try:
            with np.errstate(all="ignore"):
                told = verdict(press_note(NoteModel(train), self.bench.case.strokes))
        except NotPlayed as problem:
            told = problem.verdict
        return None if told.sound or told.fate is Fate.UNKNOWN else told

    def _goal(self, i: int, pluck: float, ceiling: float) -> float:
        """A goal within the tolerance, leaving room for the `NEAR` share of it."""
        within, target = self.targets.within[i], self.targets.pluck[i]
        low, high = (1 - (1 - NEAR) * within) * target, (1 + (1 - NEAR) * within) * target
        return float(min(pluck if np.isnan(target) else np.clip(pluck, low, high), ceiling / (1 + NEAR * within)))

    def _bound(self, i: int, force: float) -> str:
        if force <= self.low[i] + SLACK:
            return self.binding[i]
        return "strongest" if force >= self.high[i] - SLACK else ""

    def _even_ceiling(self, pluck: Floats, excess: Floats) -> Floats:
        """The pluck that evenness allows a note beside lighter ones, where bounds leave no other way; else infinite."""
        found = np.full(len(self.notes), np.inf)
        if not np.any(excess > 0):
            return found
        for i in range(1, len(self.notes)):
            light, heavy = sorted((i - 1, i), key=lambda k: pluck[k])
            half = min(self.targets.even[i], 1.0) / 2
            most = pluck[light] * (1 + half) / (1 - half)
            if self.left[i] or self.left[i - 1]:
                continue
            if self.notes[i] - self.notes[i - 1] == 1 and pluck[heavy] > most * (1 + EVEN):
                found[heavy] = min(found[heavy], most)
        return found

    def _faults(self, i: int, figures: Mapping[str, float], uneven: bool) -> tuple[str, ...]:
        t = self.targets
        if self.left[i]:
            return ("friction",)
        checks = {
            "closing": self.too_weak[i] or not meets("closing", figures["closing"] + SLACK, t.closing[i]),
            "return_time": not meets("return_time", figures["release_delay"], t.return_time[i]),
            "repetition": not meets("repetition", figures["repetition_rate"], t.repetition[i]),
            "feed": not meets("feed", figures["feed"], t.feed[i]),
            "even": uneven,
        }
        missed = abs(figures["pluck_force"] / self.wanted[i] - 1)
        wants = np.isfinite(t.pluck[i])
        pluck = self.mute[i] or not self.opens[i] or (wants and not missed <= t.within[i])
        return (*(("pluck",) if pluck else ()), *(name for name, wrong in checks.items() if wrong))


def tune(case: Case, notes: Sequence[int], targets: Targets, jobs: int = 0) -> list[TunedNote]:
    """Find the spring of every note.

    Parameters
    ----------
    case : Case
    notes : sequence of int
        Rising.
    targets : Targets
        At these notes.
    jobs : int
        Threads; 0 means one per core.

    Returns
    -------
    list of TunedNote
        One for each note; those with `faults` are infeasible and have the spring that comes nearest, or their own
        where none opens the pallet.

    Raises
    ------
    keyaction.sim.code.no_numba.NoNumba
        If Numba cannot be used.
    """
    need_numba()
    return _Search(Bench(case, jobs), notes, targets).run()
