"""Least squares against certified values, a worked example of the GUM, and closed forms of a straight line."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, partial

import numpy as np

from keyaction.sim.fitting.least import Fit, Floats, Space, fit
from keyaction.sim.fitting.spread import Spread, spread_of
from keyaction.sim.published.observation import Near, Observation, Source

FITS, LINES = "Least squares, certified", "Least squares, straight lines"
STATED = "certified to eleven digits; of both starts the further one off counts"
_OF = "Statistical Reference Datasets, nonlinear regression, National Institute of Standards and Technology"
GUM = Source("Guide to the Expression of Uncertainty in Measurement, JCGM 100:2008, H.3, Table H.6 and equations H.14 "
             "to H.15: calibration of a thermometer", "from memory")  # fmt: skip
CLOSED = Source("Closed form of a straight line through x = 1 to 5, standard deviation 1: S_xx 10, mean 3", "derived")

Model = Callable[[Floats, Floats], Floats]


@dataclass(frozen=True)
class Certified:
    """A data set with what is certified of its fit: both starts, values, standard deviations, sum of squares."""

    name: str
    model: Model
    x: Sequence[float]
    y: Sequence[float]
    starts: tuple[Sequence[float], Sequence[float]]
    values: Sequence[float]
    deviations: Sequence[float]
    squares: float

    @property
    def source(self) -> Source:
        return Source(f"{_OF}: {self.name}", "second-hand")


def _rising(x: Floats, b: Floats) -> Floats:
    with np.errstate(over="ignore"):
        return np.asarray(b[0] * (1 - np.exp(-b[1] * x)))


def _power(x: Floats, b: Floats) -> Floats:
    return np.asarray(b[0] * x ** b[1])


def _cubics(x: Floats, b: Floats) -> Floats:
    over = b[0] + b[1] * x + b[2] * x**2 + b[3] * x**3
    return np.asarray(over / (1 + b[4] * x + b[5] * x**2 + b[6] * x**3))


MISRA = Certified(
    "Misra1a, y = b1 (1 - exp(-b2 x))", _rising,
    (77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0),
    (10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78),
    ((500, 1e-4), (250, 5e-4)), (2.3894212918e2, 5.5015643181e-4), (2.7070075241, 7.2668688436e-6), 1.2455138894e-1,
)  # fmt: skip
THURBER = Certified(
    "Thurber, a cubic over a cubic", _cubics,
    (-3.067, -2.981, -2.921, -2.912, -2.840, -2.797, -2.702, -2.699, -2.633, -2.481, -2.363, -2.322, -1.501, -1.460,
     -1.274, -1.212, -1.100, -1.046, -0.915, -0.714, -0.566, -0.545, -0.400, -0.309, -0.109, -0.103, 0.010, 0.119,
     0.377, 0.790, 0.963, 1.006, 1.115, 1.572, 1.841, 2.047, 2.200),
    (80.574, 84.248, 87.264, 87.195, 89.076, 89.608, 89.868, 90.101, 92.405, 95.854, 100.696, 101.060, 401.672, 390.724,
     567.534, 635.316, 733.054, 759.087, 894.206, 990.785, 1090.109, 1080.914, 1122.643, 1178.351, 1260.531, 1273.514,
     1288.339, 1327.543, 1353.863, 1414.509, 1425.208, 1421.384, 1442.962, 1464.350, 1468.705, 1447.894, 1457.628),
    ((1000, 1000, 400, 40, 0.7, 0.3, 0.03), (1300, 1500, 500, 75, 1, 0.4, 0.05)),
    (1.2881396800e3, 1.4910792535e3, 5.8323836877e2, 7.5416644291e1, 9.6629502864e-1, 3.9797285797e-1, 4.9727297349e-2),
    (4.6647963344, 3.9571156086e1, 2.8698696102e1, 5.5675370270, 3.1333340687e-2, 1.4984928198e-2, 6.5842344623e-3),
    5.6427082397e3,
)  # fmt: skip
DANIEL = Certified(
    "DanWood, y = b1 x^b2", _power,
    (1.309, 1.471, 1.490, 1.565, 1.611, 1.680), (2.138, 3.421, 3.597, 4.340, 4.882, 5.660),
    ((1, 5), (0.7, 4)), (7.6886226176e-1, 3.8604055871), (1.8281973860e-2, 5.1726610913e-2), 4.3173084083e-3,
)  # fmt: skip
BOX = Certified(
    "BoxBOD, y = b1 (1 - exp(-b2 x))", _rising,
    (1.0, 2.0, 3.0, 5.0, 7.0, 10.0), (109.0, 149.0, 149.0, 191.0, 213.0, 224.0),
    ((1, 1), (100, 0.75)), (2.1380940889e2, 5.4723748542e-1), (1.2354515176e1, 1.0455993237e-1), 1.1680088766e3,
)  # fmt: skip
SETS = (MISRA, THURBER, DANIEL, BOX)
_NEAR = 1e-6
"""Relative tolerance."""

THERMOMETER = (
    (21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511),
    (-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160),
)
"""°C: readings and corrections."""


@cache
def _fits(name: str) -> tuple[tuple[Fit, Spread], ...]:
    """The fit of a set from each of its starts."""
    of = next(one for one in SETS if one.name == name)
    x, y = np.array(of.x), np.array(of.y)
    found = []
    for start in of.starts:
        best = fit(lambda b: of.model(x, b) - y, [np.array(start, dtype=float)], Space.free([abs(s) for s in start]))
        found.append((best, spread_of(best, stated=False)))
    return tuple(found)


def _worse(of: Certified, wanted: float, figure: Callable[[Fit, Spread], float]) -> float:
    """A figure from the start from which it is further off."""
    return max((figure(*one) for one in _fits(of.name)), key=lambda one: abs(one - wanted))


def _line(x: Sequence[float], y: Sequence[float], stated: bool) -> tuple[Fit, Spread]:
    at, read = np.array(x), np.array(y)
    slopes = -np.column_stack([np.ones(len(at)), at])
    best = fit(lambda b: read + slopes @ b, [np.zeros(2)], Space.free([0.1, 0.1]), lambda _: slopes)
    return best, spread_of(best, stated)


@cache
def _thermometer() -> tuple[Fit, Spread]:
    readings, corrections = THERMOMETER
    return _line([one - 20.0 for one in readings], corrections, stated=False)


def _at_thirty() -> float:
    """The correction at 30 °C."""
    best, _ = _thermometer()
    return float(best.values @ np.array([1.0, 10.0]))


def _known_at_thirty() -> float:
    """Its standard uncertainty."""
    _, known = _thermometer()
    along = np.array([1.0, 10.0])
    return math.sqrt(float(along @ known.covariance @ along))


def _fisher() -> Spread:
    return _line((1.0, 2.0, 3.0, 4.0, 5.0), (0.3, 0.1, 0.4, 0.1, 0.5), stated=True)[1]


def _certified() -> Iterator[Observation]:
    for of in SETS:
        for k, (value, deviation) in enumerate(zip(of.values, of.deviations, strict=True)):
            data = of.name.partition(",")[0]
            at = partial(lambda fit_, _, k: float(fit_.values[k]), k=k)
            known = partial(lambda _, spread, k: float(spread.deviations[k]), k=k)
            yield Observation(FITS, f"b{k + 1}, {data}", Near(value, relative=_NEAR, why=STATED), "", of.source,
                              partial(_worse, of, value, at))  # fmt: skip
            yield Observation(FITS, f"u(b{k + 1}), {data}", Near(deviation, relative=_NEAR, why=STATED), "",
                              of.source, partial(_worse, of, deviation, known))  # fmt: skip
        yield Observation(FITS, f"squares, {of.name.partition(',')[0]}",
                          Near(of.squares, relative=_NEAR, why=STATED), "", of.source,
                          partial(_worse, of, of.squares, lambda best, _: best.squares))  # fmt: skip


def _lines() -> Iterator[Observation]:
    yield Observation(LINES, "correction at 20 °C", Near(-0.1712, absolute=5e-5), "°C", GUM,
                      lambda: float(_thermometer()[0].values[0]))  # fmt: skip
    yield Observation(LINES, "its standard uncertainty", Near(0.0029, absolute=5e-5), "°C", GUM,
                      lambda: float(_thermometer()[1].deviations[0]))  # fmt: skip
    yield Observation(LINES, "slope", Near(0.00218, absolute=5e-6), "", GUM,
                      lambda: float(_thermometer()[0].values[1]))  # fmt: skip
    yield Observation(LINES, "uncertainty of the slope", Near(0.00067, absolute=5e-6), "", GUM,
                      lambda: float(_thermometer()[1].deviations[1]))  # fmt: skip
    yield Observation(LINES, "their correlation", Near(-0.930, absolute=5e-4), "", GUM,
                      lambda: float(_thermometer()[1].correlations[0, 1]))  # fmt: skip
    yield Observation(LINES, "sd of a reading", Near(0.0035, absolute=5e-5), "°C", GUM,
                      lambda: _thermometer()[1].level)  # fmt: skip
    yield Observation(LINES, "correction at 30 °C", Near(-0.1494, absolute=5e-5), "°C", GUM, _at_thirty)
    yield Observation(LINES, "uncertainty at 30 °C", Near(0.0041, absolute=5e-5), "°C", GUM, _known_at_thirty)
    yield Observation(LINES, "variance of the slope", Near(0.1, relative=1e-12), "", CLOSED,
                      lambda: float(_fisher().covariance[1, 1]))  # fmt: skip
    yield Observation(LINES, "variance of the intercept", Near(1.1, relative=1e-12), "", CLOSED,
                      lambda: float(_fisher().covariance[0, 0]))  # fmt: skip
    yield Observation(LINES, "correlation of both", Near(-3 / math.sqrt(11), relative=1e-12), "", CLOSED,
                      lambda: float(_fisher().correlations[0, 1]))  # fmt: skip


OBSERVATIONS = (*_certified(), *_lines())
"""Rows of the table."""
