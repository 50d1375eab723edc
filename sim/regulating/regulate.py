"""One division from its readings to the work that is to be done, simulated again."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.readings.figures import NAMES
from keyaction.models.readings.readings import Readings
from keyaction.models.train.train import Train
from keyaction.sim.measuring.believed import believed
from keyaction.sim.measuring.computed import Computed, as_measured, both_winds, computed
from keyaction.sim.measuring.knobs import changed, one_of
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.aims import Aims
from keyaction.sim.regulating.cause import Cause
from keyaction.sim.regulating.causes import beyond, causes, counted, seal_of_all, workable
from keyaction.sim.regulating.fewest import Flags
from keyaction.sim.regulating.judged import KEPT, Limits, limits
from keyaction.sim.regulating.notes import FITTED, Bench, bench_of
from keyaction.sim.regulating.plan import Plan, Table, plan
from keyaction.sim.regulating.pressure import ALLOWED, Wind, nearly_all, wind_of, without_weights
from keyaction.sim.regulating.state import State, stand
from keyaction.sim.regulating.steps import SHOWN, Steps, pressure_step, steps
from keyaction.sim.regulating.together import planned

AGAIN = 2
"""Times that single amounts are corrected after the work has been simulated."""


@dataclass(frozen=True)
class Regulation:
    """What is to be done at a division, and what comes of it.

    Attributes
    ----------
    aims : Aims
    readings : Readings
    state : State
        How its notes stand.
    table : Table
    plan : Plan
    steps : Steps
    causes : tuple of Cause
        What is to be found out or measured again first.
    before, after : Computed
        Figures as found and after the work at the pressure that is wanted, levels counted from the drawing. Of a mute
        note those before are by the slopes.
    pressure : (float, float)
        In the box as measured, or as the plucks have it, and as wanted, Pa.
    wind : Wind
        What the readings say of it.
    seal : float
        Share by which the wind presses harder on all shut pallets than drawn, where the pressure does not explain it.
    sheet : Readings
        As it came, with what was left out of `readings` because it cannot be meant as it stands.
    whole : Computed
        What would be read of the notes as drawn at its pressure, wind on and off.
    fitted : tuple of int
        The notes of `whole`: all that were read, asked for or not.
    unread : tuple of int
        Notes of the division of which nothing was read.
    datum : float
        How far above the level that is drawn the straightedge seems to have lain, m: levels count from there.
    """

    aims: Aims
    readings: Readings
    state: State
    table: Table
    plan: Plan
    steps: Steps
    causes: tuple[Cause, ...]
    before: Floats
    after: Computed
    pressure: tuple[float, float]
    wind: Wind
    seal: float
    sheet: Readings
    whole: Computed
    fitted: tuple[int, ...]
    unread: tuple[int, ...] = ()
    datum: float = 0.0

    def only(self, notes: Collection[int]) -> Regulation:
        """What is done at some of the notes; what is common to all stays what all of them say."""
        at = [i for i, note in enumerate(self.notes) if note in notes]
        state, work, table = self.state.only(at), self.plan, self.table
        frame = None if work.frame is None else work.frame[at]
        return replace(
            self,
            state=state,
            table=replace(table, state=state, drawn=table.drawn[at], work=table.work[at], counts=table.counts[at]),
            plan=replace(work, single=work.single[at], frame=frame),
            steps=replace(self.steps, moves=tuple(one for one in self.steps.moves if one.note in notes)),
            causes=tuple(one for one in self.causes if one.note in notes),
            before=self.before[at],
            after=self.after.rows(at),
            unread=tuple(note for note in self.unread if note in notes),
        )

    @property
    def kept(self) -> Limits:
        """What is to be kept at every note."""
        return limits(self.table, self.plan.springs_off, self.seal)

    def outside(self, figures: Floats) -> Flags:
        """Which figures (n, all) are outside what is to be kept, (n, `KEPT`): of those that the readings tell."""
        told = np.stack([self.state.shows(name) for name in KEPT], axis=1)
        return np.asarray((self.kept.off(figures) > 0.0) & told)

    @property
    def notes(self) -> tuple[int, ...]:
        """The notes of which anything was read."""
        return self.state.bench.notes


def regulate(
    case: Case,
    trains: Mapping[int, Train],
    readings: Readings,
    aims: Aims | None = None,
    jobs: int = 0,
    bench: Bench | None = None,
    division: int = 0,
) -> Regulation:
    """What is to be turned, bent and laid in.

    Parameters
    ----------
    case : Case
    trains : mapping of int to Train
        As drawn, by note: what the notes are to be again.
    readings : Readings
        Of some of these notes.
    aims : Aims, optional
    jobs : int
        Threads; 0 means one per core.
    bench : Bench, optional
        Of another sheet of these notes: taken if it was measured at the same pressure.
    division : int
        How many notes there are, asked for or not; 0 of these trains alone.
    """
    aims, notes = aims or Aims(), tuple(note for note in readings.notes if note in trains)
    division = division or len(trains)
    one = _regulated(case, trains, notes, readings, aims, jobs, bench, division)
    if one.plan.datum:
        datum, sheet, readings = one.plan.datum, readings, _from_datum(readings, one.plan.datum)
        again = _regulated(case, trains, notes, readings, aims, jobs, one.state.bench, division, doubted=False)
        one = replace(again, sheet=sheet, datum=datum)
    if one.wind.exchanged or not nearly_all(one.state, one.causes):
        return one
    plain = without_weights(replace(readings, head=replace(readings.head, pressure=math.nan)))
    wind = wind_of(readings, 0.0, one.pressure[1], 0, division, odd=True)
    found = _regulated(case, trains, notes, plain, aims, jobs, bench, division, doubted=False)
    return replace(found, readings=readings, wind=wind, sheet=one.sheet, datum=one.datum)


def _regulated(
    case: Case,
    trains: Mapping[int, Train],
    notes: tuple[int, ...],
    readings: Readings,
    aims: Aims,
    jobs: int,
    bench: Bench | None,
    division: int,
    doubted: bool = True,
) -> Regulation:
    """As the readings stand, whatever they say together."""
    drawn = [trains[note] for note in notes]
    found = [as_measured(train, readings.head) for train in drawn]
    off = any(name.endswith("_off") for name in readings.figures)
    wanted, at = _pressure(drawn[0]), _pressure(found[0])
    target = computed(drawn, case.strokes, off, jobs) if at != wanted else None
    measured = dict(zip(notes, found, strict=True))
    if bench is not None and bench.serves(measured, off):
        bench = bench.only(notes)
    else:
        level = None if target is None else target["level"]
        bench = bench_of(measured, case.strokes, level, off, jobs)
    whole, sheet = both_winds(bench.drawn, found, case.strokes, jobs), readings
    trust = believed(sheet, case, whole, notes=notes)
    readings, swapped = trust.readings, trust.other_wind
    trusted = without_weights(readings) if swapped else readings
    state = stand(bench, trusted)
    target = bench.drawn if target is None else target.from_level(bench.level)
    plucked = int(np.isfinite(state.read[:, NAMES.index("pluck")]).sum())
    wind = Wind(exchanged=True) if swapped else wind_of(readings, seal_of_all(state), wanted, plucked, division)
    by_plucks = at * (1.0 + wind.shift)
    moved = wind.supposed or (wind.contradicts and abs(by_plucks - wanted) < abs(at - wanted))
    moved &= ALLOWED[0] <= by_plucks <= ALLOWED[1]
    shift = wind.shift if moved else 0.0
    if moved:
        state, at = _rebased(state, shift), by_plucks
    seal = wind.shift - shift
    unsound = causes(state, trusted, seal)
    bases = drawn if at != wanted else None
    before = state.figures + _eased(state, target, shift)
    table = Table(state, target.values, workable(state, unsound), counted(state, unsound), aims, division)
    work = planned(table, before, doubted)
    work, after = _tried(table, work, bases)
    if far := beyond(state, work.total(table.shares())):
        unsound += far
        table = replace(table, work=workable(state, unsound), counts=counted(state, unsound))
        work, after = _tried(table, planned(table, before, doubted), bases)
    change = np.median(np.nan_to_num(before - state.figures), axis=0)[[NAMES.index(name) for name in SHOWN]]
    pressure = None if wind.measure else pressure_step(at, wanted, aims, change.tolist(), len(notes))
    done = steps(table, work, before, pressure, _place(case))
    return Regulation(
        aims, readings, state, table, work, done, tuple(unsound), before, after, (at, wanted), wind,
        seal, sheet, whole, notes, tuple(sorted(set(trains) - set(notes))),
    )  # fmt: skip


def _from_datum(readings: Readings, datum: float) -> Readings:
    """Levels as from the line that is drawn."""
    rows = (replace(one, value=one.value + datum) if one.figure == "level" else one for one in readings.rows)
    return replace(readings, rows=tuple(rows))


def _pressure(train: Train) -> float:
    return train.value(train.role("box").name, "p_box")


def _rebased(state: State, shift: float) -> State:
    """The same with what all pallets share in wind put down to the pressure, which nobody wrote down."""
    amounts, k = state.amounts.copy(), FITTED.index("seal")
    amounts[:, k] -= shift
    bench = state.bench
    trains = [changed(t, [(one, shift * _pressure(t))] if (one := one_of(t, "pressure")) else []) for t in bench.trains]
    return replace(state, bench=replace(bench, trains=tuple(trains)), amounts=amounts)


def _eased(state: State, target: Computed, shift: float) -> Floats:
    """How figures of the notes change when the pressure is set: as the drawn ones do, and by slopes for the share by
    which it was otherwise than they were computed at."""
    straight = -shift * state.bench.rise[:, FITTED.index("seal")]
    return np.asarray(np.nan_to_num(target.values - state.bench.drawn.values) + straight)


def _tried(table: Table, work: Plan, bases: list[Train] | None) -> tuple[Plan, Computed]:
    """The work simulated, single amounts corrected where the lines that it was made by bend."""
    bench, shares = table.state.bench, table.shares()
    every = np.arange(len(bench.notes))
    after = bench.press(every.tolist(), table.state.amounts + work.total(shares), bases, off=False)
    for _ in range(AGAIN):
        more = plan(table, after.values, spare=False)
        moved = np.flatnonzero(np.any(more.single != 0.0, axis=1))
        if not len(moved):
            break
        work = replace(work, single=work.single + more.single)
        there = bench.press(moved.tolist(), (table.state.amounts + work.total(shares))[moved], bases, off=False)
        after = _put(after, moved.tolist(), there)
    return work, after


def _put(whole: Computed, places: list[int], part: Computed) -> Computed:
    values, verdicts, failed = whole.values.copy(), list(whole.verdicts), list(whole.failed)
    for k, i in enumerate(places):
        values[i], verdicts[i], failed[i] = part.values[k], part.verdicts[k], part.failed[k]
    return Computed(values, tuple(verdicts), tuple(failed))


def _place(case: Case) -> str:
    """What the case has that carries pins of all notes; empty where it says nothing of it."""
    return "rail" if case.frame is not None and case.frame.rail is not None else ""
