"""Uncertainty of measurement: the worked examples of the guide and of its supplement on drawing."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from keyaction.sim.propagation.inputs import Cyclic, Even, Floats, Input, Normal, Read, Vague
from keyaction.sim.propagation.propagate import (
    Propagated,
    combined,
    coverage,
    freedom,
    parts,
    propagate,
    second_order,
)
from keyaction.sim.published.observation import Near, Observation, Source

_SUBJECT = "Uncertainty: propagated by first order, second order and draws"
_DRAWS = 1_000_000
_ROOT = math.sqrt(3.0)
_GUM = Source(
    "JCGM 100:2008, Guide to the expression of uncertainty in measurement, H.1, calibration of an end gauge",
    "second-hand",
)
_SUM = Source("JCGM 101:2008, Propagation of distributions using a Monte Carlo method, 9.2, additive model", "derived")
_MASS = Source("JCGM 101:2008, 9.3, mass calibration; inputs as printed, results by our own quadrature", "derived")
_SQUARES = Source(
    "JCGM 101:2008, 9.4, comparison loss: sum of two squares; mean and variance in closed form", "derived"
)
_GAUGE = Source("JCGM 101:2008, 9.5, gauge block calibration", "second-hand")
_PRINTED = "last digit printed"
_ERRORS = "last digit printed and five standard errors of a million draws"


def _whole(x: Floats) -> Floats:
    return np.asarray(np.sum(x, axis=0))


def _squares(x: Floats) -> Floats:
    return np.asarray(np.sum(x**2, axis=0))


def _weight(x: Floats) -> Floats:
    """Difference of a weight's conventional mass from 100 g, mg: reference, added weight, densities."""
    reference, added, air, weight, of_reference = x
    return np.asarray((reference + added) * (1.0 + (air - 1.2) * (1.0 / weight - 1.0 / of_reference)) - 1e5)


_WEIGHT: tuple[Input, ...] = (
    Normal(1e5, 0.05), Normal(1.234, 0.02), Even(1.1, 1.3), Even(7000.0, 9000.0), Even(7950.0, 8050.0),
)  # fmt: skip


def _end_gauge(x: Floats) -> Floats:
    """Length of an end gauge, nm: standard, difference, expansion, temperature, differences of both."""
    standard, apart, expansion, warm, expansions, warmth = x
    return np.asarray(standard + apart - standard * (expansions * warm + expansion * warmth))


_GAUGE_MIDDLES = np.array([50_000_623.0, 215.0, 11.5e-6, -0.1, 0.0, 0.0])
_GAUGE_SDS = np.array([25.0, 9.7, 2e-6 / _ROOT, math.hypot(0.2, 0.5 / math.sqrt(2.0)), 1e-6 / _ROOT, 0.05 / _ROOT])
_GAUGE_FREEDOM = np.array([18.0, 25.6, math.inf, math.inf, 50.0, 2.0])


def _gauge_block(x: Floats) -> Floats:
    """Deviation of a gauge block from 50 mm, nm; its difference is of three parts, its temperature of two."""
    standard, mean, random, systematic, expansion, warm, swing, expansions, warmth = x
    whole = np.array([standard, mean + random + systematic, expansion, warm + swing, expansions, warmth])
    return np.asarray(_end_gauge(whole) - 5e7)


_GAUGE_BLOCK: tuple[Input, ...] = (
    Read(50_000_623.0, 25.0, 18.0), Read(215.0, 6.0, 25.0), Read(0.0, 4.0, 5.0), Read(0.0, 7.0, 8.0),
    Even(9.5e-6, 13.5e-6), Normal(-0.1, 0.2), Cyclic(-0.5, 0.5), Vague(-1e-6, 1e-6, 1e-7), Vague(-0.05, 0.05, 0.025),
)  # fmt: skip


@lru_cache(maxsize=1)
def _drawn_weight() -> Propagated:
    return propagate(_weight, _WEIGHT, _DRAWS)


@lru_cache(maxsize=1)
def _drawn_block() -> Propagated:
    return propagate(_gauge_block, _GAUGE_BLOCK, _DRAWS)


@lru_cache(maxsize=1)
def _drawn_sum(*inputs: Input) -> Propagated:
    return propagate(_whole, inputs, _DRAWS)


@lru_cache(maxsize=1)
def _drawn_squares(middle: float) -> Propagated:
    return propagate(_squares, (Normal(middle, 0.005), Normal(0.0, 0.005)), _DRAWS)


def _first(*inputs: Input) -> float:
    """First order of a sum, 95 % to one side."""
    found = parts(_whole, np.array([one.middle for one in inputs]), np.array([one.sd for one in inputs]))
    return coverage(0.95, math.inf) * combined(found)


def _gauge_parts() -> Floats:
    return parts(_end_gauge, _GAUGE_MIDDLES, _GAUGE_SDS)


def _gauge_freedom() -> float:
    """Cut off to a whole number, as the guide does (G.4.1)."""
    return float(math.floor(freedom(_gauge_parts(), _GAUGE_FREEDOM)))


_NORMALS = (Normal(0.0, 1.0),) * 4
_EVENS = (Even(-_ROOT, _ROOT),) * 4
_ONE_WIDE = (*_EVENS[:3], Even(-10 * _ROOT, 10 * _ROOT))

OBSERVATIONS = (
    Observation(_SUBJECT, "four normal: sd of the sum", Near(2.0, 0.0075, why=_ERRORS), "", _SUM,
                lambda: _drawn_sum(*_NORMALS).sd),
    Observation(_SUBJECT, "four normal: shortest 95 % end", Near(3.92, 0.02, why=_ERRORS), "", _SUM,
                lambda: _half(_drawn_sum(*_NORMALS).shortest(0.95))),
    Observation(_SUBJECT, "four even: 95 % end", Near(3.87941, 0.01, why=_ERRORS), "", _SUM,
                lambda: _drawn_sum(*_EVENS).symmetric(0.95)[1]),
    Observation(_SUBJECT, "four even, one x 10: sd",
                Near(math.sqrt(103.0), 0.02, why=_ERRORS), "", _SUM, lambda: _drawn_sum(*_ONE_WIDE).sd),
    Observation(_SUBJECT, "four even, one x 10: 95 % end", Near(17.0, 0.05, why=_PRINTED),
                "", _SUM, lambda: _drawn_sum(*_ONE_WIDE).symmetric(0.95)[1]),
    Observation(_SUBJECT, "the same, to first order", Near(19.9, 0.05, why=_PRINTED), "", _SUM,
                lambda: _first(*_ONE_WIDE)),
    Observation(_SUBJECT, "mass calibration: mean, mg", Near(1.2340, 4e-4, why=_ERRORS), "mg", _MASS,
                lambda: _drawn_weight().mean),
    Observation(_SUBJECT, "mass: sd", Near(0.0755, 2.5e-4, why=_ERRORS), "mg", _MASS,
                lambda: _drawn_weight().sd),
    Observation(_SUBJECT, "mass: lower 95 % end", Near(1.084, 0.001, why=_PRINTED), "mg",
                _MASS, lambda: _drawn_weight().symmetric(0.95)[0]),
    Observation(_SUBJECT, "mass: upper 95 % end", Near(1.384, 0.001, why=_PRINTED), "mg",
                _MASS, lambda: _drawn_weight().symmetric(0.95)[1]),
    Observation(_SUBJECT, "mass: first order, which fails", Near(0.0539, 1e-4, why=_PRINTED),
                "mg", _MASS, lambda: combined(parts(_weight, *_of(_WEIGHT)))),
    Observation(_SUBJECT, "squares about 0: mean / 1e-5", Near(5.0, 0.03, why=_ERRORS), "", _SQUARES,
                lambda: _drawn_squares(0.0).mean / 1e-5),
    Observation(_SUBJECT, "squares about 0: sd / 1e-5", Near(5.0, 0.04, why=_ERRORS), "",
                _SQUARES, lambda: _drawn_squares(0.0).sd / 1e-5),
    Observation(_SUBJECT, "squares about 0.01: sd / 1e-4", Near(1.119, 0.006, why=_ERRORS),
                "", _SQUARES, lambda: _drawn_squares(0.01).sd / 1e-4),
    Observation(_SUBJECT, "squares about 0.05: sd / 1e-4", Near(5.025, 0.018, why=_ERRORS),
                "", _SQUARES, lambda: _drawn_squares(0.05).sd / 1e-4),
    Observation(_SUBJECT, "end gauge: length beyond 50 mm", Near(838.0, 0.5, why=_PRINTED), "nm", _GUM,
                lambda: float(_end_gauge(_GAUGE_MIDDLES)) - 50e6),
    Observation(_SUBJECT, "end gauge: first order", Near(32.0, 0.5, why=_PRINTED), "nm", _GUM,
                lambda: combined(_gauge_parts())),
    Observation(_SUBJECT, "end gauge: degrees of freedom", Near(16.0, 0.5, why="a whole number"), "", _GUM,
                _gauge_freedom),
    Observation(_SUBJECT, "end gauge: with second order", Near(34.0, 0.5, why=_PRINTED), "nm", _GUM,
                lambda: second_order(_end_gauge, _GAUGE_MIDDLES, _GAUGE_SDS)),
    Observation(_SUBJECT, "end gauge: 99 %, rounded u", Near(93.0, 0.5, why=_PRINTED),
                "nm", _GUM, lambda: coverage(0.99, _gauge_freedom()) * round(combined(_gauge_parts()))),
    Observation(_SUBJECT, "gauge block, drawn: sd", Near(36.0, 0.5, why=_PRINTED), "nm", _GAUGE,
                lambda: _drawn_block().sd),
    Observation(_SUBJECT, "block, drawn: lower 99 % end", Near(745.0, 1.0, why=_ERRORS), "nm", _GAUGE,
                lambda: _drawn_block().symmetric(0.99)[0]),
    Observation(_SUBJECT, "block, drawn: upper 99 % end", Near(932.0, 1.0, why=_ERRORS), "nm", _GAUGE,
                lambda: _drawn_block().symmetric(0.99)[1]),
    Observation(_SUBJECT, "block, drawn: shortest 99 %", Near(187.0, 1.5, why=_ERRORS), "nm", _GAUGE,
                lambda: 2 * _half(_drawn_block().shortest(0.99))),
)  # fmt: skip


def _half(ends: tuple[float, float]) -> float:
    return (ends[1] - ends[0]) / 2


def _of(inputs: tuple[Input, ...]) -> tuple[Floats, Floats]:
    return np.array([one.middle for one in inputs]), np.array([one.sd for one in inputs])
