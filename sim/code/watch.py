"""What the lanes hold fixed, how a lane is driven, and what is watched in a stroke: the words of the batch module."""

from __future__ import annotations

from collections.abc import Sequence

from keyaction.models.train.structure import TURN_LIMIT

WIDTH = {"float64": 16, "float32": 32}
"""Lanes in a block: two vectors of 512 bits."""

DRIVE = (
    "down_rate",
    "lift",
    "up_rate",
    "touch",
    "depth",
    "k_finger",
    "alpha_finger",
    "period",
    "frequency",
    "end",
)
"""What a lane's drive holds: ramps down and up over a period, from the key's surface `touch` on."""

CROSSINGS = ("start", "half", "full", "empty", "seated", "near", "far")
"""Events of a stroke, each kept as whether, when, and the values before and after."""
OPENINGS = ("openings", "openings_least", "openings_most")
"""How often a seated pallet opens again by more than the threshold, by more than one above it, and one below."""
MEASURES = ("lift_top", "force_top", "left_over", *OPENINGS, *(f"{name}_now" for name in OPENINGS))
LIMITS = ("start_at", "half_at", "full_at", "empty_at", "near_at", "far_at", "reopened_at", "surely_at", "perhaps_at")

DRIVEN = """\
past = pick(t < d_end, t - d_period*floor(t*d_frequency), d_period)
r1 = past*d_down_rate
r1 = pick(r1 < 1.0, r1, 1.0)
r2 = (past - d_lift)*d_up_rate
r2 = pick(r2 > 0.0, r2, 0.0)
r2 = pick(r2 < 1.0, r2, 1.0)
s1 = r1*r1*r1*(10.0 + r1*(6.0*r1 - 15.0))
s2 = r2*r2*r2*(10.0 + r2*(6.0*r2 - 15.0))
g1 = 30.0*r1*r1*(1.0 - r1)*(1.0 - r1)
g2 = 30.0*r2*r2*(1.0 - r2)*(1.0 - r2)
{x_finger} = d_touch + d_depth*(s1 - s2)
{v_finger} = d_depth*(d_down_rate*g1 - d_up_rate*g2)
{f_finger} = 0.0"""
"""The finger's way and speed at time t, from the rows of `DRIVE`."""


def bare(text: str) -> str:
    """Words of the code without underscores: the symbols of a train all have one, so that none is the same."""
    return text.replace("_", "")


def _crossed(event: str, value: str, condition: str) -> list[str]:
    """Keep the first time that `condition` holds, with the value before and after."""
    k = CROSSINGS.index(event) * 4
    return [
        f"hit = ({condition}) & (R{k} == 0.0)",
        f"R{k + 1} = pick(hit, t, R{k + 1})",
        f"R{k + 2} = pick(hit, last_{value}, R{k + 2})",
        f"R{k + 3} = pick(hit, {value}, R{k + 3})",
        f"R{k} = pick(hit, 1.0, R{k})",
    ]


_LAST = len(CROSSINGS) * 4 + len(MEASURES)
_LASTING = ("o_key_travel", "o_groove_pressure", "o_seat_gap")
STROKE_ROWS = _LAST + len(_LASTING)
"""Rows of the record of a stroke: events, measures, and last values."""
REPEAT_ROWS = 7
"""Rows of the record of repeated strokes: number of the stroke, highest pressure, empty, empty and seated, pressure and
gap a step before, verdict."""


def _recorded(first: int, rows: int, body: Sequence[str]) -> list[str]:
    """Rows of the record in locals around `body`: a lane that keeps its value must not branch around a load."""
    loads = [f"R{i} = A[{first + i}*W + j]" for i in range(rows)]
    limits = [f"{name} = A[{len(DRIVE) + i}*W + j]" for i, name in enumerate(LIMITS)]
    return [bare(line) for line in (*loads, *limits, *body, *(f"A[{first + i}*W + j] = R{i}" for i in range(rows)))]


def stroke_watch(first: int) -> list[str]:
    m = len(CROSSINGS) * 4
    lines = [f"last_{name} = R{_LAST + i}" for i, name in enumerate(_LASTING)]
    lines += ["lifted = t >= d_lift"]
    lines += _crossed("start", "o_key_travel", "o_key_travel >= start_at")
    lines += [f"begun = R{CROSSINGS.index('start') * 4} > 0.0"]
    lines += _crossed("half", "o_groove_pressure", "begun & (o_groove_pressure >= half_at)")
    lines += _crossed("full", "o_groove_pressure", "begun & (o_groove_pressure >= full_at)")
    lines += [
        f"silent = R{CROSSINGS.index('empty') * 4} > 0.0",
        f"R{m + 2} = pick(silent & (o_groove_pressure > R{m + 2}), o_groove_pressure, R{m + 2})",
    ]
    lines += _crossed("empty", "o_groove_pressure", "lifted & (o_groove_pressure <= empty_at)")
    lines += _crossed("near", "o_seat_gap", "o_seat_gap >= near_at")
    lines += _crossed("far", "o_seat_gap", "o_seat_gap >= far_at")
    lines += [f"was_seated = R{CROSSINGS.index('seated') * 4} > 0.0"]
    for i, limit in enumerate(("reopened_at", "surely_at", "perhaps_at")):
        count, now = m + 3 + i, m + 3 + len(OPENINGS) + i
        lines += [
            f"open_now{i} = was_seated & (o_seat_gap > {limit})",
            f"again{i} = open_now{i} & (R{now} == 0.0)",
            f"R{count} = R{count} + pick(again{i}, 1.0, 0.0)",
            f"R{now} = pick(open_now{i}, 1.0, 0.0)",
        ]
    lines += _crossed("seated", "o_seat_gap", "lifted & (o_seat_gap <= 0.0)")
    lines += [
        f"R{m} = pick((o_pallet_lift > R{m}) & (not lifted), o_pallet_lift, R{m})",
        f"R{m + 1} = pick((o_key_force > R{m + 1}) & (r1 < 1.0), o_key_force, R{m + 1})",
        *(f"R{_LAST + i} = {name}" for i, name in enumerate(_LASTING)),
    ]
    return _recorded(first, STROKE_ROWS, lines)


def repeat_watch(first: int, speech: Sequence[str]) -> list[str]:
    """Each stroke by the definition of `sim.figures.repetition.verdict`; 1 not full, 2 not empty, 3 not seated.

    `speech` names what tells whether all grooves are full, all empty, all pallets shut. Where a groove empties until
    the next press, its pressure there lies between two steps, each of which may make 15 % of it.
    """
    least, most, gap = (f"o_{name}" for name in speech)
    verdict = f"R{REPEAT_ROWS - 1}"
    return _recorded(
        first,
        REPEAT_ROWS,
        [
            "stroke_number = floor(t*d_frequency)",
            "running = t < d_end",
            "turned = (stroke_number > R0) & (R0*d_period < d_end - half)",
            "back = (t - (R0 + 1.0)*d_period)/h",
            f"most_there = {most} + (R4 - {most})*back",
            f"gap_there = {gap} + (R5 - {gap})*back",
            "emptied = turned & (most_there < empty_at)",
            "R2 = pick(emptied, 1.0, R2)",
            "R3 = pick(emptied & (gap_there <= 0.0), 1.0, R3)",
            "fault = pick(R3 == 0.0, 3.0, 0.0)",
            "fault = pick(R2 == 0.0, 2.0, fault)",
            "fault = pick(R1 < full_at, 1.0, fault)",
            f"{verdict} = pick(turned & ({verdict} == 0.0), fault, {verdict})",
            "R1 = pick(turned, 0.0, R1)",
            "R2 = pick(turned, 0.0, R2)",
            "R3 = pick(turned, 0.0, R3)",
            "R0 = pick(turned, stroke_number, R0)",
            f"R1 = pick(running & ({least} > R1), {least}, R1)",
            f"hollow = running & (past >= d_lift) & ({most} < empty_at)",
            "R2 = pick(hollow, 1.0, R2)",
            f"R3 = pick(hollow & ({gap} <= 0.0), 1.0, R3)",
            f"R4 = {most}",
            f"R5 = {gap}",
        ],
    )


UNDECIDED = f"R{REPEAT_ROWS - 1} == 0.0"
"""No stroke has failed yet: what comes after the first that does is no part of a trial."""
WILD = 0.9 * TURN_LIMIT, 1.2 * TURN_LIMIT
"""rad: turns of which the last digits may say whether they are within the range."""
CLOSE_ROWS = REPEAT_ROWS + 9
"""Rows where it is also told how close the verdict was, in the last of them: 1 is close."""
ALIKE_ROW = CLOSE_ROWS - 2
"""Row that says, by anything but the `FAR_OFF` that it begins with, that a stroke went as the one before."""
FAR_OFF = 1e30
"""What the rows begin with that come to those of `REPEAT_ROWS`."""
PRESSURE_UNIT, GAP_UNIT = 3e-2, 2e-5
"""What is close: a share of a pressure, m of the gap. In a step a groove empties by 2 % and a pallet shuts by 15 um."""
LIKE = 0.1
"""Share of these units by which what is judged may differ between two strokes that are alike."""
LIKE_TIME, IN_TIME = 5e-3, 0.85
"""Shares of the period: how much the seating of the pallet may differ in two strokes that are alike, and its latest."""


def close_watch(first: int, most: str, gap: str) -> tuple[list[str], list[str], list[str], list[str]]:
    """What more is watched: at the step's begin, before a stroke is judged, once it is hollow, at the step's end."""
    lowest, shut, seats = (f"R{REPEAT_ROWS + i}" for i in range(3))
    last = [f"R{REPEAT_ROWS + 3 + i}" for i in range(4)]
    alike, away = f"R{ALIKE_ROW}", f"R{CLOSE_ROWS - 1}"
    rows = range(REPEAT_ROWS, CLOSE_ROWS)
    begin = [f"R{i} = A[{first + i}*W + j]" for i in rows]
    judging = [
        f"judged = turned & ({UNDECIDED})",
        f"{lowest} = pick(turned & (most_there < {lowest}), most_there, {lowest})",
        f"{shut} = pick(emptied & (gap_there < {shut}), gap_there, {shut})",
        f"near1 = abs(R1 - full_at)*{1 / PRESSURE_UNIT!r}/full_at",
        f"near2 = abs({lowest} - empty_at)*{1 / PRESSURE_UNIT!r}/empty_at",
        f"near3 = abs({shut})*{1 / GAP_UNIT!r}",
        "near1 = pick(near2 < near1, near2, near1)",
        "near1 = pick(near3 < near1, near3, near1)",
        f"{away} = pick(judged & (near1 < {away}), near1, {away})",
        f"like = judged & (abs(R1 - {last[0]}) < {LIKE * PRESSURE_UNIT!r}*full_at)",
        f"like = like & (abs({lowest} - {last[1]}) < {LIKE * PRESSURE_UNIT!r}*empty_at)",
        f"like = like & (abs({shut} - {last[2]}) < {LIKE * GAP_UNIT!r})",
        f"like = like & (abs({seats} - {last[3]})*d_frequency < {LIKE_TIME!r})",
        f"like = like & ({seats}*d_frequency < {IN_TIME!r})",
        f"{alike} = pick(like, 1.0, {alike})",
        *(f"{then} = pick(judged, {now}, {then})" for then, now in zip(last, ("R1", lowest, shut, seats), strict=True)),
        *(f"{one} = pick(turned, {FAR_OFF!r}, {one})" for one in (lowest, shut, seats)),
    ]
    hollow = [
        f"{lowest} = pick(running & (past >= d_lift) & ({most} < {lowest}), {most}, {lowest})",
        f"{shut} = pick(hollow & ({gap} < {shut}), {gap}, {shut})",
        f"{seats} = pick(hollow & ({gap} <= 0.0) & (past < {seats}), past, {seats})",
    ]
    end = [f"A[{first + i}*W + j] = R{i}" for i in rows]
    found = [[bare(line) for line in lines] for lines in (begin, judging, hollow, end)]
    return found[0], found[1], found[2], found[3]
