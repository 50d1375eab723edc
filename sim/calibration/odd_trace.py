"""What must be known of a trace before anything is fitted to it: what it does not state, and where it says nothing."""

from __future__ import annotations

import math

import numpy as np

from keyaction.models.readings.courses import CHANNELS, Trace

INSTANT = 0.05
"""s: how far the beginning of a stroke may lie from where the trace says."""
_MOVED = 5.0
"""Errors by which two instants running are off the first, so that it moves."""
_GAP = 1.9
"""Times the usual way from one instant to the next from which some between are missing."""


def odd_trace(trace: Trace) -> list[str]:
    """What was assumed of a trace, whether it moves, and where it has gaps: reasons why a fit to it may be poor.

    Parameters
    ----------
    trace : Trace

    Returns
    -------
    list of str
        Sentences without the full stop, without the note.
    """
    return [*_beginning(trace), *_still(trace), *_gaps(trace), *_frames(trace)]


def _beginning(trace: Trace) -> list[str]:
    """What was assumed of how a stroke begins, and whether it begins where the trace says."""
    if trace.driven == "finger":
        return []
    word, done = ("laid in", "the mass is laid") if trace.driven == "mass" else ("let go in", "the key is let go")
    within = f"{1e3 * trace.within:g} ms"
    told = [f"the trace does not state '{word}': {within} is assumed"] if trace.assumed else []
    moves = _moves(trace)
    if moves - trace.within > INSTANT:
        told.append(
            f"nothing moves before {1e3 * moves:.0f} ms, though time 0 is where {done}, to within "
            f"{1e3 * INSTANT:g} ms, and that took {within}; check its times and '{word}'"
        )
    return told


def _still(trace: Trace) -> list[str]:
    """That no channel ever leaves where it began."""
    if math.isfinite(_moves(trace)):
        return []
    names = " and ".join(CHANNELS[name][0] for name in trace.values)
    return [
        f"nothing moves in the trace ({names} within {_MOVED:g} errors of where it began): it shows no stroke, and a "
        "fit to it says nothing of one; was the right part filmed?"
    ]


def _gaps(trace: Trace) -> list[str]:
    """Stretches in which nothing was read, though the trace goes on behind them."""
    told = []
    for name, values in trace.values.items():
        there = np.isfinite(values)
        usual = float(np.median(np.diff(trace.time)))
        ways = np.diff(trace.time[there])
        holes = np.flatnonzero(ways > _GAP * usual)
        if len(holes):
            k = int(holes[np.argmax(ways[holes])])
            start, end = (1e3 * float(one) for one in trace.time[there][[k, k + 1]])
            many = f"{len(holes)} gaps, the longest" if len(holes) > 1 else "a gap"
            told.append(
                f"the {CHANNELS[name][0]} has {many} from {start:.4g} ms to {end:.4g} ms: what it did there is not "
                "known, and a fit may be poor for it"
            )
    return told


def _frames(trace: Trace) -> list[str]:
    """That times count as exact."""
    if math.isfinite(trace.rate):
        return []
    return [
        "the trace states no 'frame rate': its times count as exact, and a fit to a film, whose times are rounded to "
        "frames, is poor then"
    ]


def _moves(trace: Trace) -> float:
    """Time at which the first channel is seen to leave where it began, s; NaN where it never does."""
    first = math.nan
    for channel, values in trace.values.items():
        there = np.isfinite(values)
        time, off = trace.time[there], np.abs(values[there] - values[there][:1]) > _MOVED * trace.error(channel)
        both = np.flatnonzero(off[:-1] & off[1:])
        if len(both):
            first = float(np.fmin(first, time[both[0]]))
    return first
