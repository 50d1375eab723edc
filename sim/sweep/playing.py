"""Designs that are trains already, played in lanes: figures and words; what befalls one of them befalls no other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import Train
from keyaction.sim.code.no_gpu import NoGpu
from keyaction.sim.code.no_numba import NoNumba
from keyaction.sim.figures.verdict import UNASKED
from keyaction.sim.lanes.evaluate import Doubt, Outcome, evaluate
from keyaction.sim.lanes.judge import Check
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.processes.broken_off import broken_off
from keyaction.sim.sweep.designs import Design

FAILED = "failed: "
"""How the status of a design begins that cannot be played."""
CODED = {
    "status": "ok, or why a design has no figures",
    "repetition_limit": "what limits the repetition rate",
    "verdict": "what becomes of the note",
    "sensitive": "figures that hang on how exactly the motion is integrated, with both values",
}
"""What is told of every train in words, with headings."""


def in_words(outcome: Outcome) -> dict[str, tuple[str, ...]]:
    """What an outcome tells of each of its trains, by the names of `CODED`."""
    return {
        "status": outcome.status,
        "repetition_limit": outcome.limits,
        "verdict": tuple(told.fate.value for told in outcome.verdicts),
        "sensitive": outcome.sensitive,
    }


@dataclass(frozen=True)
class Played:
    """Figures of designs: values (designs, notes, quantities); what is told in words by design, then note; checks."""

    values: Floats
    words: Mapping[str, tuple[str, ...]]
    checks: tuple[Check, ...]


def play_designs(
    designs: Sequence[Design],
    quantities: Sequence[str],
    judged: int,
    jobs: int,
    device: str = "cpu",
    doubt: Doubt = "decide",
) -> Played:
    """Compute designs in lanes, those that are played alike together.

    Parameters
    ----------
    designs : sequence of Design
    quantities : sequence of str
    judged : int
        Trains that SciPy judges, spread over all.
    jobs : int
        Threads; 0 means one per core.
    device : str
        Where motions are computed.
    doubt : {"decide", "mark"}
        What becomes of designs in doubt.
    """
    found = _Figures(designs, quantities)
    groups = _by_strokes(designs)
    for alike, some in zip(groups, spread_over([one.places for one in groups], judged), strict=True):
        for part, outcome in _evaluated(alike, quantities, some, jobs, device, doubt):
            found.take([alike.places[i] for i in part], outcome)
    return found.played()


def failure(problem: Exception) -> str:
    """The status of a design that the engine could not play.

    Raises
    ------
    KeyboardInterrupt, NoNumba, NoGpu
        If it is none of the design's.
    """
    if isinstance(problem, (NoNumba, NoGpu)):
        raise problem
    if broken_off(problem):
        raise KeyboardInterrupt from problem
    return f"{FAILED}{type(problem).__name__}: {problem}"


class _Figures:
    """Figures of designs, train by train."""

    def __init__(self, designs: Sequence[Design], quantities: Sequence[str]) -> None:
        self.shape, self.quantities = (len(designs), len(designs[0].trains)), quantities
        self.values = np.full((self.shape[0] * self.shape[1], len(quantities)), np.nan)
        self.words, self.checks = {name: [""] * len(self.values) for name in CODED}, list[Check]()
        for i, train in _flat(designs):
            if isinstance(train, str):
                self.words["status"][i] = train

    def take(self, places: Sequence[int], outcome: Outcome) -> None:
        """Take over the outcome of the trains at these places."""
        for k, name in enumerate(self.quantities):
            self.values[places, k] = outcome.quantities[name]
        told = in_words(outcome)
        for name, texts in self.words.items():
            for i, text in zip(places, told[name], strict=True):
                texts[i] = text
        self.checks += [_placed(check, places) for check in outcome.checks]

    def played(self) -> Played:
        """All of it."""
        words = {name: tuple(texts) for name, texts in self.words.items()}
        return Played(self.values.reshape(*self.shape, -1), words, tuple(self.checks))


def _flat(designs: Sequence[Design]) -> Iterator[tuple[int, Train | str]]:
    return enumerate(train for design in designs for train in design.trains)


@dataclass(frozen=True)
class _Alike:
    """Trains on which the same is played, with their places among all."""

    strokes: Strokes
    places: list[int]
    trains: list[Train]


def spread_over(groups: Sequence[Sequence[int]], count: int) -> list[int]:
    """How many of each group are chosen, where so many are spread evenly over the places of all."""
    places = sorted(place for group in groups for place in group)
    steps = np.linspace(0, len(places) - 1, min(count, len(places))).astype(int)
    chosen = {places[k] for k in steps.tolist()}
    return [len(chosen.intersection(group)) for group in groups]


def _by_strokes(designs: Sequence[Design]) -> list[_Alike]:
    """Trains that can be built, grouped by what is played on them."""
    notes = len(designs[0].trains)
    groups: dict[tuple[object, ...], _Alike] = {}
    for i, train in _flat(designs):
        if isinstance(train, str):
            continue
        strokes = designs[i // notes].strokes
        key = tuple((path, one.value) for path, one in strokes.given.items())
        one = groups.setdefault(key, _Alike(strokes, [], []))
        one.places.append(i)
        one.trains.append(train)
    return list(groups.values())


def _evaluated(
    alike: _Alike, quantities: Sequence[str], judged: int, jobs: int, device: str, doubt: Doubt
) -> Iterator[tuple[list[int], Outcome]]:
    """Outcomes of parts of the trains; where one train stops the others, halves go on without each other."""
    waiting = [list(range(len(alike.trains)))]
    while waiting:
        part = waiting.pop(0)
        trains = [alike.trains[i] for i in part]
        try:
            outcome = evaluate(trains, alike.strokes, quantities, jobs, judged, device=device, doubt=doubt)
        except Exception as problem:  # whatever a design does to the engine, the others go on
            status = failure(problem)
            if len(part) > 1:
                half = len(part) // 2
                waiting += [part[:half], part[half:]]
                continue
            nothing = {name: np.full(1, np.nan) for name in quantities}
            outcome = Outcome(nothing, ("",), (status,), (UNASKED,), ("",))
        yield part, outcome


def _placed(check: Check, places: Sequence[int]) -> Check:
    """A check with the design's place in the whole block."""
    where = places[check.design] if 0 <= check.design < len(places) else -1
    return replace(check, design=where)
