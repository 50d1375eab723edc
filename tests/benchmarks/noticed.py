"""How often a sound sheet is called odd, and how often an odd one is told: ``python tests/benchmarks/noticed.py``.

Sound: every note scatters as in a well regulated action (`KINDS[...].good` of everything that can be turned or wrong),
read with a ruler of 0.2 mm and a balance of 2 gf. Odd: the same with one thing done to the whole sheet.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from time import perf_counter

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import sound_trains
from keyaction.models.readings.figures import NAMES
from keyaction.models.readings.readings import Head, Readings
from keyaction.models.train.train import Train
from keyaction.sim.measuring.blank import blank_head
from keyaction.sim.measuring.computed import as_measured, computed, drawn_levels
from keyaction.sim.measuring.knobs import KINDS, changed, knobs
from keyaction.sim.measuring.noticed import noticed
from keyaction.sim.measuring.synthetic import read_off

CASES = ("demo-wood", "sticker-backfall", "classical-french", "hung-rollers", "relief-pallet")
DRAWS, READINGS, NOTES = 6, 8, 12
_COMMON = ("pressure", "length", "stops", "soft-run", "rubbing")
"""What is the same for all notes of a good action is left as drawn."""


def scattered(train: Train, random: np.random.Generator) -> Train:
    """One note of a good action; it rubs at one place, as friction that all places have is in the drawing."""
    there = [knob for knob in knobs(train) if knob.kind not in _COMMON]
    rubs = [knob for knob in there if knob.kind in ("friction", "guide", "oblique")]
    kept = [knob for knob in there if knob not in rubs] + [rubs[random.integers(len(rubs))]]
    amounts = []
    for knob in kept:
        amount = float(random.normal(0.0, knob.about.good))
        amounts.append((knob, abs(amount) if KINDS[knob.kind].low == 0.0 else amount))
    return changed(train, amounts)


def wind_off(readings: Readings) -> Readings:
    off = {(one.note, one.figure): one.value for one in readings.rows}
    kept = [one for one in readings.rows if not one.figure.endswith("_off")]
    rows = [
        replace(one, value=off.get((one.note, f"{one.figure}_off"), one.value)) if one.figure in NAMES[5:8] else one
        for one in kept
    ]
    return replace(readings, rows=tuple(rows))


def shifted(figure: str, by: float) -> Callable[[Readings], Readings]:
    return lambda read: replace(
        read, rows=tuple(replace(one, value=one.value + by) if one.figure == figure else one for one in read.rows)
    )


def times(figure: str, by: float) -> Callable[[Readings], Readings]:
    return lambda read: replace(
        read, rows=tuple(replace(one, value=one.value * by) if one.figure == figure else one for one in read.rows)
    )


ODD: dict[str, tuple[Callable[[Readings], Readings], str]] = {
    "sound": (lambda read: read, ""),
    "wind off under wind on": (wind_off, "with the wind off, or hardly any"),
    "levels 0.8 mm low": (shifted("level", -0.8e-3), "level 0"),
    "plucks in ounces": (times("pluck", 1 / 28.35), "ounces"),
    "another case": (lambda read: replace(read, head=replace(read.head, case="X", key="0" * 8)), "another case"),
}


def tally(case: Case) -> dict[str, float]:
    step = max(len(case.compass) // NOTES, 1)
    drawn = sound_trains(case, case.compass[::step][:NOTES])
    notes, head, random = list(drawn), blank_head(case), np.random.default_rng(5)
    levels = drawn_levels(list(drawn.values()), case.strokes)
    nominal = computed(list(drawn.values()), case.strokes).from_level(levels)
    found = dict.fromkeys([*ODD, "pressure 10 % more"], 0.0)
    for _ in range(DRAWS):
        trains = [scattered(train, random) for train in drawn.values()]
        sound = computed(trains, case.strokes).from_level(levels)
        more = Head(pressure=1.1 * head.pressure)
        heavy = computed([as_measured(one, more) for one in trains], case.strokes).from_level(levels)
        for seed in range(READINGS):
            for name, (change, words) in ODD.items():
                told = noticed(change(read_off(notes, sound, seed, head)), case, nominal, notes=notes)
                found[name] += bool(told) if not words else any(words in line for line in told)
            told = noticed(read_off(notes, heavy, seed, head), case, nominal, notes=notes)
            found["pressure 10 % more"] += any(
                "a pressure of" in line.lower() and "explain it" in line for line in told
            )
    return {name: count / (DRAWS * READINGS) for name, count in found.items()}


def main() -> None:
    print(f"share of {DRAWS * READINGS} sheets that are told as odd, and, of odd ones, as what they are")
    for name in CASES:
        case, start = read_case(name), perf_counter()
        shares = tally(case)
        told = "; ".join(f"{what} {share:.2f}" for what, share in shares.items())
        print(f"{name} ({len(case.compass)} notes): {told}; {perf_counter() - start:.0f} s", flush=True)


if __name__ == "__main__":
    main()
