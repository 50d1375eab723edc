"""Measurements of a note whose unknowns are known: what a calibration must find again."""

from pathlib import Path

import numpy as np

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.readings.courses import Curve, Trace
from keyaction.sim.calibration.asked import Asked
from keyaction.sim.calibration.measured import measured_at
from keyaction.sim.calibration.near import line_of
from keyaction.sim.calibration.note import calibrate
from keyaction.sim.calibration.presses import blown
from keyaction.sim.calibration.traced import played
from keyaction.sim.calibration.unknowns import fields_at, train_at, unknowns
from keyaction.sim.measuring.computed import pressed
from keyaction.sim.weighing.weighoff import wind_off

C4 = 60
ERRORS = (0.02e-3, 9.80665e-3)
"""m and N: a dial and a load cell."""
EXAMPLE = {
    "friction": 0.03,
    "load-friction": 1.25,
    "spring": 2.05,
    "seal": 2.2e-3,
    "twist": -0.2,
    "play": 0.45e-3,
    "balance": -0.13,
    "dip": 9.3e-3,
    "bottom-felt": 0.2,
}
"""Planted in the shipped curve; in the fit's own figures: twist and felt as natural logarithms of factors."""
SEED = 20260214


def of_note(case="demo-wood", note=C4):
    """A case and the unknowns of one of its notes."""
    case = read_case(case)
    return case, unknowns(case, train_of(case, note))


def planted_train(case, there, plant, note=C4):
    """The note with these figures."""
    return train_at(case, note, fields_at([there[name] for name in plant], list(plant.values())))


def curve_of(train, strokes, random, points=60, errors=ERRORS, stated=True, wind=True, note=C4, up=True, ends=None):
    """A feel curve of a train, read with errors."""
    press = pressed([train if wind else wind_off(train)], strokes)[0].press
    low, high = ends or (0.05e-3, float(press.down.travel[-1]) - 0.15e-3)
    pieces, downs = [], []
    for course, sense in ((press.down, 1), (press.up, -1)) if up else ((press.down, 1),):
        travel = np.linspace(low, high, points)[::sense]
        pieces.append(np.column_stack([travel, np.interp(travel, *line_of(course).T)]))
        downs.append(np.full(points, sense > 0))
    read = np.concatenate(pieces)
    read = read + random.normal(size=read.shape) * np.array(errors)
    told = errors if stated else (np.nan, np.nan)
    down = np.concatenate(downs)
    return Curve(note, *read.T, down, np.ones(len(read)), travel_error=told[0], force_error=told[1], wind=wind)


def trace_of(train, random, driven="let go", mass=np.nan, rate=240.0, error=0.1e-3, start=0.002, note=C4):
    """A film of the key of a train."""
    time = np.arange(0.0, 0.12 if driven == "let go" else 0.4, 1 / rate)
    empty = Trace(note, time, {"key": np.zeros(len(time))}, driven, mass=mass, rate=rate, errors={"key": error})
    seen = time - start + random.uniform(-0.5, 0.5, len(time)) / rate  # times are written down in whole frames
    values = np.interp(seen, *played(blown(train, empty), empty).course("key"))
    values = values + random.normal(size=len(time)) * error
    return Trace(note, time, {"key": values}, driven, mass=mass, rate=rate, errors={"key": error})


def found(case, there, names, sheets=(), curves=(), traces=(), note=C4, jobs=0):
    """What a calibration finds."""
    measured = measured_at(note, sheets, curves, traces, case.naming)
    return calibrate(Asked(case, measured, tuple(there[name] for name in names), jobs))


def written_curve(curve, head):
    """A curve as a file."""
    lines = [f"{name},{text}" for name, text in head.items()]
    rows = [
        f"{'down' if down else 'up'},{1e3 * travel:.3f},{force / 9.80665e-3:.2f}"
        for down, travel, force in zip(curve.down, curve.travel, curve.force, strict=True)
    ]
    return "\n".join([*lines, "way,travel (mm),force (gf)", *rows]) + "\n"


HEAD = {
    "case": "Invented manual, 56 notes, wooden trackers",
    "note": "C4",
    "wind": "on",
    "pressure": "70 mmH2O",
    "travel error": "0.02 mm",
    "force error": "1 gf",
    "remark": "invented: computed with errors drawn at random; no real instrument",
}


def example() -> str:
    """The shipped feel curve."""
    case, there = of_note()
    curve = curve_of(planted_train(case, there, EXAMPLE), case.strokes, np.random.default_rng(SEED), points=50)
    return written_curve(curve, HEAD)


if __name__ == "__main__":
    Path("cases/onsite/feel-C4.csv").write_text(example())
