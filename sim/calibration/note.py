"""The unknowns of one note by bounded least squares: `calibrate`."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from scipy import stats

from keyaction.sim.calibration.asked import TIED, Asked, Problem
from keyaction.sim.calibration.found import Calibrated, Lacking, Value
from keyaction.sim.calibration.measured import CurveBlock, Measured, TraceBlock
from keyaction.sim.calibration.presses import FAR
from keyaction.sim.calibration.unknowns import unknowns
from keyaction.sim.fitting.goodness import Goodness, goodness
from keyaction.sim.fitting.least import Fit, Floats, Residuals, fit
from keyaction.sim.fitting.spread import SURE, Direction, at_least, by_slopes, intervals, spread_of

APART = 0.25
"""Spans by which the other starts lie beside the case's own figures."""
EXACT, EXACT_PLAYED = 1e-6, 1e-4
"""Relative change of cost and step at which a search ends, of presses and of strokes."""
_EVALUATIONS = 60
ROUGH, _ROUGHLY = 0.02, 8
"""The same from other starts, and their evaluations: enough to see whether there is a better place."""
FORETOLD = 0.1
"""Share of a sum of squares by which the best may miss it from afar: a start that came there leads to the best."""
_WEIGHED = 3
"""Rounds in which errors of traces follow from the motion that they lead to."""
_LEAST = 2
"""Least known directions along which it is seen whether motions follow smoothly."""
_LEVELS = 4
"""Rounds in which the levels of errors that are not stated are found."""
_DOUBT = 0.1
"""Odds of what remains below which the search is made again with nothing held."""
_TURNS, _ALIKE = 3, 0.95
"""Rounds in which the directions that are held are found anew, and the least cosine between sets that are one."""
_SETTLED = 0.02
"""Relative change of such a level below which it is found."""


class NotCalibrated(ValueError):
    """Why a note cannot be calibrated."""


def calibrate(asked: Asked) -> Calibrated:
    """Find the unknowns of a note.

    Parameters
    ----------
    asked : Asked

    Raises
    ------
    NotCalibrated
        When there are too few figures, or the note cannot be pressed as the case has it.
    """
    _check(asked)
    levels = [1.0] * len(asked.measured.blocks)
    held: Sequence[Direction] = _untold_there(asked, asked.start, levels) if asked.measured.stated else []
    best = _best(asked, levels, held)
    if held and _doubtful(asked, best, held):
        free = _best(asked, levels)
        if _squares(asked, best) - _squares(asked, free) > stats.chi2.ppf(SURE, len(held)):
            best, held = free, []
    if asked.measured.traces:
        asked, best = _weighed(asked, best, levels, held)
    for _ in range(_LEVELS):
        after = _levels(asked, best, levels)
        done = all(abs(one / before - 1) < _SETTLED for one, before in zip(after, levels, strict=True))
        levels = after
        if done:
            break
        best = _fitted(asked, levels, [best.values])
    best, held = _held(asked, levels, best, held)
    return _judged(asked, best, levels, held)


def _untold(plain: Fit) -> list[Direction]:
    return [one for one in spread_of(plain, stated=True).directions if one.half > 1.0]


def _untold_there(asked: Asked, figures: Floats, levels: Sequence[float]) -> list[Direction]:
    """Directions of which nothing is known at some figures."""
    problem = Problem(asked, levels)
    there = Fit(figures, problem.residuals(figures), problem.jacobian(figures), asked.space, True, "")
    return _untold(without_pull(there, asked.measured.count))


def _squares(asked: Asked, best: Fit) -> float:
    return without_pull(best, asked.measured.count).squares


def _doubtful(asked: Asked, best: Fit, held: Sequence[Direction]) -> bool:
    """Whether what is held might be why so much remains: what does not show at the case's figures may show far off."""
    freedom = max(asked.measured.count - asked.size + len(held), 1)
    return bool(stats.chi2.sf(_squares(asked, best), freedom) < _DOUBT)


def _held(
    asked: Asked, levels: Sequence[float], best: Fit, held: Sequence[Direction]
) -> tuple[Fit, Sequence[Direction]]:
    """The best with all directions held of which nothing is known there; these turn along a bent valley."""
    for _ in range(_TURNS):
        now = _untold(without_pull(best, asked.measured.count))
        if _same(held, now):
            break
        held, scale = now, asked.space.scale
        rows = np.array([one.vector for one in held]).reshape(-1, asked.size)
        away = (best.values - asked.start) / scale
        back = asked.space.inside(asked.start + scale * (away - rows.T @ (rows @ away)))
        best = _fitted(asked, levels, [back], held)
    return best, held


def _same(one: Sequence[Direction], other: Sequence[Direction]) -> bool:
    """Whether two sets of directions span nearly the same."""
    if len(one) != len(other) or not one:
        return len(one) == len(other)
    left, right = (np.array([each.vector for each in rows]) for rows in (one, other))
    return float(np.linalg.svd(left @ right.T, compute_uv=False)[-1]) > _ALIKE


def _best(asked: Asked, levels: Sequence[float], held: Sequence[Direction] = ()) -> Fit:
    """From the case's own figures to the end; from places beside them roughly, and to the end where that is better."""
    own, *beside = _starts(asked, levels)
    # Strokes are weighed where the search ends, and searched again: the first need not be exact.
    best = _fitted(asked, levels, [own], held, ROUGH if asked.measured.traces else None)
    for start in beside:
        problem = Problem(asked, levels, held)
        try:
            other = fit(_leading_elsewhere(problem, best), [start], asked.space, problem.slopes, ROUGH, _ROUGHLY)
        except _LeadsThere:
            continue
        if other.squares < (1 - ROUGH) * best.squares:
            best = _fitted(asked, levels, [other.values], held)
    return best


def _weighed(asked: Asked, best: Fit, levels: Sequence[float], held: Sequence[Direction]) -> tuple[Asked, Fit]:
    """Traces weighed as the note moves at the best, and the best with them, in turn."""
    # The lines are as long as all instants have it: fewer would make them longer, and those leave out more again.
    ways = _ways(asked, best)
    for turn in range(_WEIGHED):
        again = asked.weighed(best.values, ways)
        if again is asked and turn:
            break
        asked, best = again, _fitted(again, levels, [best.values], held)
    return asked, best


def _ways(asked: Asked, best: Fit) -> list[Floats]:
    """Half as far as the least known directions are known."""
    least = spread_of(without_pull(best, asked.measured.count), stated=True).directions[:_LEAST]
    return [0.5 * min(one.half, 1.0) * one.vector * asked.space.scale for one in least]


class _LeadsThere(Exception):
    """A start leads to the best that is known."""


def _leading_elsewhere(problem: Problem, best: Fit) -> Residuals:
    """The residuals, until they are what the best and its slopes say from there."""

    def residuals(figures: Floats) -> Floats:
        found = problem.residuals(figures)
        foretold = best.residuals + best.jacobian @ (figures - best.values)
        away = found - foretold
        if float(away @ away) < FORETOLD * float(found @ found):
            raise _LeadsThere
        return found

    return residuals


def _check(asked: Asked) -> None:
    count, size = asked.measured.count, asked.size
    if count <= size:
        names = ", ".join(one.name for one in asked.of)
        more = f" and the beginning of {len(asked.measured.traces)} strokes" if asked.measured.traces else ""
        raise NotCalibrated(
            f"{count} figures for {len(asked.of)} unknowns ({names}){more}: at least {size + 1} are needed; measure "
            "more, or name fewer with --unknown"
        )


def _starts(asked: Asked, levels: Sequence[float]) -> list[Floats]:
    """The case's own figures, and two places beside them that can be pressed."""
    own, space = asked.start, asked.space
    signs = np.array([1.0 if i % 2 == 0 else -1.0 for i in range(len(own))])
    signs[len(asked.of) :] = 0.0
    senses = () if asked.measured.traces else (1.0, -1.0)  # strokes take long to play
    beside = [space.inside(own + sign * APART * signs * space.scale) for sign in senses]
    found = asked.missed([own, *beside], levels)
    kept = [row for row, one in zip([own, *beside], found, strict=True) if np.mean(np.abs(one) >= 0.99 * FAR) < 0.5]
    if not kept:
        raise NotCalibrated("the note as the case has it does not show what was measured: it cannot be pressed so")
    return kept


def _fitted(
    asked: Asked,
    levels: Sequence[float],
    starts: Sequence[Floats],
    held: Sequence[Direction] = (),
    exact: float | None = None,
) -> Fit:
    problem = Problem(asked, levels, held)
    exact = exact or (EXACT_PLAYED if asked.measured.traces else EXACT)
    return fit(problem.residuals, starts, asked.space, problem.slopes, exact, _EVALUATIONS)


def without_pull(found: Fit, count: int) -> Fit:
    """The fit's residuals and slopes without those of the pull."""
    return replace(found, residuals=found.residuals[:count], jacobian=found.jacobian[:count])


def _slices(measured: Measured) -> list[slice]:
    ends = np.cumsum([0, *(block.count for block in measured.blocks)]).tolist()
    return [slice(start, end) for start, end in pairwise(ends)]


def _leverage(found: Fit) -> Floats:
    """How much of every residual's freedom the unknowns take, (n,)."""
    left, strengths, _ = np.linalg.svd(found.jacobian * found.space.scale, full_matrices=False)
    shows = strengths > 1 / TIED
    return np.asarray(np.sum(left[:, shows] ** 2, axis=1))


def _levels(asked: Asked, best: Fit, before: Sequence[float]) -> list[float]:
    """Levels of the blocks whose errors are not stated, by what remains there; those of one course are one."""
    plain, parts = without_pull(best, asked.measured.count), _slices(asked.measured)
    taken, found = _leverage(plain), list(before)
    groups: dict[tuple[str, ...], list[int]] = {}
    for i, block in enumerate(asked.measured.blocks):
        if not block.stated:
            groups.setdefault(_group(block), []).append(i)
    for members in groups.values():
        squares = sum(float(np.sum(plain.residuals[parts[i]] ** 2)) for i in members)
        freedom = sum(parts[i].stop - parts[i].start - float(np.sum(taken[parts[i]])) for i in members)
        level = math.sqrt(max(squares / max(freedom, 1e-9), 1e-12))
        for i in members:
            found[i] = before[i] * level
    return found


def _group(block: object) -> tuple[str, ...]:
    if isinstance(block, TraceBlock):
        return ("trace", block.channel)
    return ("curve",) if isinstance(block, CurveBlock) else ("sheet",)


def _judged(asked: Asked, best: Fit, levels: Sequence[float], held: Sequence[Direction]) -> Calibrated:
    problem, count = Problem(asked, levels, held), asked.measured.count
    best = replace(best, residuals=problem.residuals(best.values), jacobian=problem.jacobian(best.values))
    plain, parts = without_pull(best, count), _slices(asked.measured)
    free = [i for i, block in enumerate(asked.measured.blocks) if not block.stated]
    taken = _leverage(plain)
    freedom = sum(parts[i].stop - parts[i].start for i in free) - sum(float(np.sum(taken[parts[i]])) for i in free)
    known = spread_of(plain, stated=True, freedom=freedom if free else math.inf)
    spans = asked.space.scale
    told = [k for k in range(len(asked.of)) if known.half[k] <= spans[k]]
    good = _good(asked, plain, taken)
    pulled = spread_of(best, stated=True, freedom=freedom if free else math.inf)
    ends = (
        [
            at_least(one, by_slopes(best, pulled, k))
            for k, one in zip(
                told,
                intervals(best, pulled, problem.residuals, problem.jacobian, told, asked.shown),
                strict=True,
            )
        ]
        if good.good and best.done
        else [by_slopes(best, pulled, k) for k in told]
    )
    found = dict(zip(told, ends, strict=True))
    values = tuple(Value(one, float(best.values[k]), found.get(k)).kept for k, one in enumerate(asked.of))
    untold = tuple(one for one in known.directions if one.half > 1.0)
    (shown,) = asked.shown([best.values])
    assert shown is not None
    made = Calibrated(asked, plain, known, values, untold, good, tuple(levels), shown)
    return replace(made, lacking=_lacking(asked, best, levels)) if made.poor else made


def _good(asked: Asked, plain: Fit, taken: Floats) -> Goodness:
    """Stated errors are judged by their sum of squares, courses by their runs."""
    parts, blocks = _slices(asked.measured), asked.measured.blocks
    stated = [i for i, block in enumerate(blocks) if block.stated]
    chosen = np.concatenate([plain.residuals[parts[i]] for i in stated]) if stated else np.zeros(0)
    freedom = len(chosen) - sum(float(np.sum(taken[parts[i]])) for i in stated)
    courses = [
        plain.residuals[parts[i]] for i, block in enumerate(blocks) if isinstance(block, CurveBlock | TraceBlock)
    ]
    ordered = np.concatenate(courses) if courses else None
    return goodness(chosen, freedom, bool(stated) and freedom > 0.5, ordered)


def _lacking(asked: Asked, best: Fit, levels: Sequence[float]) -> tuple[Lacking, ...]:
    """Unknowns that were held, by how much of what remains each would take away, most first."""
    base = asked.train(best.values)
    if base is None:
        return ()
    held = [one for name, one in unknowns(asked.case, base).items()]
    held = [one for one in held if one.name not in {own.name for own in asked.of}]
    wide = replace(asked, of=(*asked.of, *held))
    at = np.concatenate([best.values[: len(asked.of)], [one.start for one in held], best.values[len(asked.of) :]])
    problem = Problem(wide, levels)
    slopes = problem.jacobian(at)[: asked.measured.count]
    left = best.residuals[: asked.measured.count]
    own = [i for i in range(wide.size) if not len(asked.of) <= i < len(asked.of) + len(held)]
    basis, _ = np.linalg.qr(slopes[:, own])
    found = []
    for i, one in enumerate(held, len(asked.of)):
        beyond = slopes[:, i] - basis @ (basis.T @ slopes[:, i])
        strength = float(beyond @ beyond)
        if strength * one.kind.span**2 > 1.0:  # else it does not show, and what is left of it is rounding
            found.append(Lacking(one.name, float(left @ beyond) ** 2 / strength / float(left @ left)))
    return tuple(sorted((one for one in found if one.share > 0.1), key=lambda one: -one.share)[:3])
