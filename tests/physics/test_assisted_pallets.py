"""Two pallets, relief pallet, two-stage beam and pneumatic lever against moments and orifices by hand, and audited."""

import re
from math import hypot, pi, sqrt

import numpy as np
import pytest
from assisted import ASSISTED, assisted, pressed, where
from scipy.integrate import quad, solve_ivp

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.algebra.names import Name
from keyaction.models.train.structure import TURN_LIMIT
from keyaction.sim.figures.doubled import doubling, first_alone
from keyaction.sim.figures.play import press_note
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.motion import drives
from keyaction.sim.motion.integrate import audit_of
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.statics.press import press

G = 9.80665
MM = 1e-3
FRONT = 420 * MM
PINE = 1120 * 0.35
"""Eastern white pine: density 1.12 times the specific gravity (Wood Handbook, FPL-GTR-190, 2010, ch. 5)."""
SPRUCE = 1120 * 0.36


def key_moment(arm, wire):
    """Key force (N) by moments about the tail: the rod's pull, less the stick's weight. The wire weighs half on it."""
    stick = SPRUCE * 0.014 * 0.020 * 0.440
    return (arm * (wire - wire_weight() / 2) - stick * G * (0.430 - 0.010) / 2) / FRONT


def wire_weight(length=0.300):
    return (8850.0 * pi * (1.5 * MM) ** 2 / 4 * length + 2 * 0.5 * MM) * G


def series(a, b):
    return a * b / hypot(a, b)


# -- every one of them: energy and both engines ------------------------------------------------------------------
@pytest.fixture(scope="module", params=ASSISTED)
def stroked(request):
    case = read_case(request.param)
    train = train_of(case, case.compass[0])
    model = NoteModel(train)
    return case, model, model.play(drives.stroke(0.04, 0.15, 0.04, 1.1 * train.dip))


def test_the_audit_closes(stroked):
    _, _, motion = stroked
    assert motion.status.ok, motion.status
    assert abs(motion.audit.residual) < 1e-4 * motion.audit.throughput
    assert np.max(np.abs(motion.y[:, : len(motion.kernel.bodies)])) < TURN_LIMIT


def test_lanes_close_their_audit_and_agree(stroked):
    case, model, motion = stroked
    batch = Batch(model.train.structure, np.array([model.parameters()]), 20e-6, jobs=1)
    rest = batch.rest()
    assert rest.settled.all()
    drive = batch._drives(
        1, down_rate=1 / 0.04, lift=0.19, up_rate=1 / 0.04, touch=batch._touch(rest), depth=1.1 * model.train.dip,
        k_finger=case.strokes.finger,
    )  # fmt: skip
    trace = batch.trace(drive, rest, motion.drive.end, every=1)
    audit = audit_of(batch.layout, trace.y[0], trace.seen[0])
    assert abs(audit.residual) < 1e-2 * audit.throughput
    for name in ("pallet_lift", "groove_pressure", "key_force"):
        ours = np.interp(motion.t, trace.t, trace.seen[0][:, batch.layout.observables.index(name)])
        assert np.max(np.abs(ours - motion[name])) < 0.03 * np.max(np.abs(motion[name])), name


# -- two pallets ---------------------------------------------------------------------------------------------------
def test_two_pallets_pluck_one_after_the_other_by_moments():
    p, down = 75 * G, pressed("two-pallets").down
    wind, _ = quad(lambda x: 0.013 * x * p, 0.0105, 0.2635)  # opening and margin, from the hinge
    mass = PINE * 0.018 * 0.016 * 0.265
    shut = 0.130 * 1.5 - mass * G * 0.265 / 2
    first, second = where(down, "seat_gap", 0.0), where(down, "seat_gap-second-pallet", 0.0)
    rise = 12 * 0.130**2
    by_hand = (wind + shut + rise * turn(down, first, "pallet")) / 0.230
    assert down["force_wire"][first] == pytest.approx(by_hand - wire_weight() / 2, rel=2e-3)
    # The second opens against what the groove has left of the wind, the first being held by its spring alone.
    left = 1 - down["groove_pressure"][second] / p
    late = (wind * left + shut + rise * turn(down, second, "second-pallet")) / 0.230 - wire_weight() / 2
    early = (wind * left + shut + rise * turn(down, second, "pallet")) / 0.230 - wire_weight() / 2
    assert down["force_second-wire"][second] == pytest.approx(late, rel=2e-3)
    assert down["force_wire"][second] == pytest.approx(early, rel=2e-3)
    assert down.force[second] == pytest.approx(key_moment(0.260, early + late - wire_weight() / 2), rel=5e-3)


def turn(course, at, part):
    return float(course[f"q_{part}"][at])


def test_both_pallets_feed_one_groove_as_orifices_side_by_side():
    down = pressed("two-pallets").down
    at = where(down, "seat_gap-second-pallet", 1.0 * MM)
    train = assisted("two-pallets")
    area = 0.0
    for part, gap in (("pallet", "seat_gap"), ("second-pallet", "seat_gap-second-pallet")):
        opened = down[gap][at] / 0.230 * train.value(part, "gap")
        area += 0.61 * series(opened, 0.250 * 0.010)
    out = train.value("groove", "A_out")
    assert down["groove_pressure"][at] == pytest.approx(75 * G * area**2 / (area**2 + out**2), rel=1e-3)


def test_pallets_that_open_at_once_double_the_pluck():
    at_once = press(NoteModel(assisted("two-pallets", second_dash_wire__lost_motion="0.2 mm")))
    stick = SPRUCE * 0.014 * 0.020 * 0.440 * G * 0.210
    apart = pressed("two-pallets")
    alone = apart.highest_between(0.0, apart.just_past(apart.pluck_point)) * FRONT + stick
    assert at_once.pluck_force * FRONT + stick == pytest.approx(2 * alone, rel=0.02)
    assert apart.pluck_force < 0.75 * at_once.pluck_force


def test_a_pair_that_doubles_the_touch_is_told():
    def told(**fields):
        model = NoteModel(assisted("two-pallets", **fields))
        return doubling(press_note(model, read_case("two-pallets").strokes))

    assert told() == ""
    together = told(second_dash_wire__lost_motion="0.2 mm")
    assert together.startswith("pallet and second-pallet pluck together and double the touch: ")
    apart = told(second_dash_wire__lost_motion="0.6 mm", second_dash_spring__force="2.5 N")
    assert re.match(r"pallet and second-pallet open one after the other and double the touch: [\d.]+ mm apart, ", apart)
    # The first alone is what a train without the second rod's reach plucks.
    assert first_alone(assisted("two-pallets"), read_case("two-pallets").strokes).press.pluck_force < 1.1


# -- relief pallet -------------------------------------------------------------------------------------------------
def test_the_relief_pallet_cracks_by_the_moments_about_its_joint():
    p, down = 80 * G, pressed("relief-pallet").down
    first = where(down, "seat_gap", 0.0)
    wind, _ = quad(lambda x: 0.023 * (x - 0.190) * p, 0.190, 0.2935)
    mass = PINE * 0.020 * 0.026 * 0.105
    moment = wind + 0.8 * 0.085 + 10 * 0.085**2 * down["q_pallet-front"][first] - mass * G * 0.105 / 2
    assert down["force_wire"][first] == pytest.approx(moment / 0.085 - wire_weight() / 2, rel=2e-3)
    assert down["large_gap"][first] < -0.5 * MM  # the large one is still shut, and bears on its seat the more


def test_the_large_pallet_opens_by_the_moments_of_both_with_the_groove_part_filled():
    p, down = 80 * G, pressed("relief-pallet").down
    second = where(down, "large_gap", 0.0)
    # What the opened front lets into the groove: a slit at its end and two wedges, against the toes.
    train = assisted("relief-pallet")
    opened = down["q_pallet-front"][second] - train.value("pallet", "q_front")
    gap = 0.020 * 0.102 * opened + 2 * quad(lambda x: x * opened, 0.0, 0.102)[0]
    area, out = 0.61 * series(gap, 0.280 * 0.020), train.value("groove", "A_out")
    filled = p * area**2 / (area**2 + out**2)
    assert down["groove_pressure"][second] == pytest.approx(filled, rel=5e-3)
    assert 0.05 < filled / p < 0.5
    wind, _ = quad(lambda x: 0.023 * x * (p - filled), 0.0105, 0.2935)
    mass = PINE * 0.020 * 0.026 * 0.295
    moment = wind + 0.150 * 1.6 + 12 * 0.150**2 * down["q_pallet"][second] - mass * G * 0.295 / 2
    assert down["force_wire"][second] == pytest.approx(moment / 0.275 - wire_weight() / 2, rel=3e-3)


def test_a_pallet_that_is_lifted_at_once_opens_as_a_whole_one():
    """The same two pieces with hardly a gap and a hard lift are one pallet: the same opening once both are off."""
    stiff = assisted(
        "relief-pallet", pallet__lift__gap="0.01 mm", pallet__lift__squeeze="0.001 mm", pallet__lift__force="50 N"
    )
    down = press(NoteModel(stiff)).down
    late = down["q_pallet"] > 0.01
    assert late.any()
    assert down["q_pallet-front"][late] == pytest.approx(down["q_pallet"][late], abs=2e-4)


def test_the_front_pallet_is_two_masses_with_the_large_one():
    """Kinetic energy of the jointed pieces turning together: that of the whole bar about its hinge, a sum."""
    train = assisted("relief-pallet")
    system = train.system()
    names = [c.name for c in system.coordinates]
    i, j = names.index("pallet"), names.index("pallet-front")
    known = {p.symbol: train.parameters[p.name].value for p in system.params}
    known |= {c.q: 0.0 for c in system.coordinates}
    block = np.array([[float(system.mass[a, b].subs(known)) for b in (i, j)] for a in (i, j)])
    wire = wire_weight() / G / 2
    bar = PINE * 0.020 * 0.026 * quad(lambda x: x * x + 0.020**2 / 12, 0.0, 0.295)[0]
    assert np.sum(block) == pytest.approx(bar + wire * 0.275**2, rel=1e-3)
    assert np.all(np.linalg.eigvalsh(block) > 0.0)
    assert abs(block[0, 1]) > 0.0


# -- two-stage beam ------------------------------------------------------------------------------------------------
def loads_on_the_beam(down):
    """What both rods pull with at the beam, their half weights included, and what both fulcrums push with."""
    pull = down["force_tracker"] + wire_weight(0.400) / 2
    wire = down["force_wire"] - wire_weight(0.250) / 2
    return pull, wire, down["force_beam-near"], down["force_beam-second"]


def test_the_beams_leverage_before_and_after_the_second_fulcrum():
    pull, wire, near, second = loads_on_the_beam(pressed("two-stage-beam").down)
    first, last = second <= 0, near <= 0
    assert first.any()
    assert last.any()
    assert wire[first] / pull[first] == pytest.approx(100 / 40, rel=1e-3)
    # Its hold, laid on at the near fulcrum, then has an arm too.
    assert wire[last] * (40 + 120) == pytest.approx(pull[last] * (100 + 120) - 0.1 * 120, rel=2e-3)
    # All that acts across the beam adds up to nothing, wherever it turns: its own hold is 0.1 N.
    assert near + second + pull - wire == pytest.approx(np.full(len(pull), 0.1), abs=1e-3)


def test_the_beams_way_changes_with_the_fulcrum():
    hard = {"squeeze": "0.001 mm", "force": "50 N"}
    fields = {f"beam__{felt}_felt__{what}": value for felt in ("near", "second") for what, value in hard.items()}
    down = press(NoteModel(assisted("two-stage-beam", **fields))).down
    into, out = (arm * down["q_beam"] + down["q_beam-off"] for arm in (0.100, 0.040))
    _, _, near, second = loads_on_the_beam(down)
    ratios = [np.ptp(out[some]) / np.ptp(into[some]) for some in (second <= 0, near <= 0)]
    assert ratios == pytest.approx([40 / 100, 160 / 220], rel=5e-3)
    # It changes where the tail has gone the gap: 3.4 mm at 120 mm.
    assert into[np.flatnonzero(second > 0)[0]] == pytest.approx(3.4 * MM * 100 / 120, rel=0.01)


def test_a_second_fulcrum_out_of_reach_leaves_one_lever():
    down = press(NoteModel(assisted("two-stage-beam", beam__second_gap="20 mm"))).down
    assert np.max(down["force_beam-second"]) == 0.0
    pull, wire, *_ = loads_on_the_beam(down)
    assert wire / pull == pytest.approx(np.full(len(pull), 2.5), rel=2e-3)


# -- pneumatic lever -----------------------------------------------------------------------------------------------
def test_the_inlet_alone_is_felt():
    down = pressed("pneumatic-lever").down
    place = where(down, "key_force", float(np.max(down.force[: where(down, "seat_gap", 0.0)])))
    hole = pi * 0.026**2 / 4
    shut = 1.4 + 120 * G * hole
    found = down["force_wire"][place]
    assert found == pytest.approx(shut - wire_weight() / 2, rel=0.04)  # its spring rises, and it leaks as it lifts
    heavy = press(NoteModel(assisted("pneumatic-lever", pallet_dash_spring__force="4 N"))).down
    assert np.max(heavy.force[: where(heavy, "seat_gap", 0.0)]) == pytest.approx(
        np.max(down.force[: where(down, "seat_gap", 0.0)]), rel=1e-3
    )


def test_nothing_of_the_large_pallet_comes_back_to_the_key():
    """One way only: the terms of the key's and the inlet's equations know nothing of bellows' way and pallet."""
    system = assisted("pneumatic-lever").system()
    rates = {row.of: rate for row, rate in zip(system.states, system.rates, strict=True) if row.kind == "speed"}
    ways = {c.q for c in system.coordinates if c.part in ("pallet",) or c.piece == "bellows"}
    named = {d.symbol: d.expr for d in system.definitions}

    def reached(expr):
        found, waiting = set(), [expr]
        while waiting:
            for symbol in waiting.pop().free_symbols - found:
                found.add(symbol)
                waiting += [named[symbol]] if symbol in named else []
        return found

    for part, piece in (("key", ""), ("lever", "inlet")):
        assert not reached(rates[Name(part, "v", piece)]) & ways
    assert reached(rates[Name("lever", "v", "bellows")]) & ways


def test_a_shut_bellows_fills_through_its_inlet_in_the_time_of_an_orifice():
    """Constant volume: t = V sqrt(2 rho p) / (1.4 p_atm C A) (1 - sqrt(1 - share)), the exhaust shut, no leak."""
    train = assisted("pneumatic-lever", lever__bellows__leak="0 mm^2")
    model = NoteModel(train)
    kernel, p = model.kernel(), model.parameters()
    drive = model.vector(drives.HANDS_OFF, drives.HANDS_OFF.pieces[0])
    y = np.zeros(len(kernel.states))
    y[kernel.states.index("q_lever-inlet")] = 0.004
    at = kernel.states.index("p_lever")

    def rate(_, pressure):
        y[at] = pressure[0]
        return [kernel.rates(0.0, y, p, drive)[at]]

    wind, squeeze = 120 * G, train.value("lever", "x0_seat")
    area = 0.6 * series(pi * 0.026 * (0.004 - squeeze), pi * 0.026**2 / 4)
    rho = train.value("box", "rho_air")
    whole = 0.12e-3 * sqrt(2 * rho * wind) / (1.4 * 101325 * area)
    found = solve_ivp(rate, (0, whole), [0.0], rtol=1e-9, atol=1e-6, events=lambda _, q: q[0] - 0.9 * wind)
    assert found.t_events[0][0] == pytest.approx(whole * (1 - sqrt(0.1)), rel=2e-3)


def test_a_loaded_bellows_opens_at_the_pace_of_its_inlet():
    """The pressure stays where it balances the load, and the volume grows by what flows in."""
    train = assisted(
        "pneumatic-lever",
        lever__inlet__hole_diameter="6 mm",
        lever__bellows__closing="800 N*mm",
        pull__lost_motion="20 mm",
    )
    motion = NoteModel(train).play(drives.stroke(0.02, 0.9, 0.04, 1.1 * train.dip))
    assert motion.status.ok
    board = motion["q_lever-bellows"] * 0.180
    start, end = (
        float(np.interp(way, board[: np.argmax(board)], motion.t[: np.argmax(board)])) for way in (2 * MM, 6 * MM)
    )
    held = 0.8 / (0.010 * 0.090)
    area = 0.6 * series(pi * 0.006 * 0.0055, pi * 0.006**2 / 4)
    flow = area * sqrt(2 * (120 * G - held) / train.value("box", "rho_air"))
    leaks = 0.6 * 2e-6 * sqrt(2 * held / train.value("box", "rho_air"))
    volume = 0.010 * 0.090 * 4 * MM / 0.180
    assert end - start == pytest.approx(volume / (flow - leaks), rel=0.03)


def test_the_bellows_leak_weakens_and_delays():
    delays = []
    for leak in ("0 mm^2", "60 mm^2"):
        train = assisted("pneumatic-lever", lever__bellows__leak=leak)
        motion = NoteModel(train).play(drives.stroke(0.04, 0.3, 0.04, 1.1 * train.dip))
        full = np.flatnonzero(motion["groove_pressure"] > 0.9 * train.box_pressure)
        delays.append((float(motion.t[full[0]]), float(np.max(motion["bellows_pressure"]))))
    assert delays[1][0] > delays[0][0]
    assert delays[1][1] < delays[0][1]
