"""Integration: cut at the knots, one method after another, a status with a remedy, and an audit of energy."""

import numpy as np
import pytest
from demo_train import tuned

from keyaction.sim.figures.play import NotPlayed, play_record
from keyaction.sim.motion import drives, integrate
from keyaction.sim.motion.integrate import LADDER, Audit, Failed, Status, Tolerances
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.run.note import play_note

STROKE = drives.stroke(0.04, 0.05, 0.04, 1.1 * 0.0095, rest=0.05)
TAP = drives.stroke(0.01, 0.01, 0.01, 1e-3, rest=0.01)


@pytest.fixture
def methods(monkeypatch):
    """The methods of the ladder, which may be made to fail; what was called is listed."""
    called = []

    def watch(name, real):
        def run(kernel, y, times, *more):
            called.append((name, times[0]))
            return real(kernel, y, times, *more)

        return run

    for name, real in integrate._METHODS.items():
        monkeypatch.setitem(integrate._METHODS, name, watch(name, real))

    def fail(name, when=lambda _: True, how=None):
        def run(kernel, y, times, *more):
            called.append((name, times[0]))
            if not when(times[0]):
                return real(kernel, y, times, *more)
            if how:
                return how(y, times)
            raise Failed("made to fail")

        real = integrate._METHODS[name]
        monkeypatch.setitem(integrate._METHODS, name, run)

    return called, fail


# -- knots -----------------------------------------------------------------------------------------------
@pytest.mark.parametrize("drive", [STROKE, drives.repeated(7.3, 0.01, 2), drives.press(0.033, 0.0101, 2e4)])
def test_every_knot_is_recorded_exactly_and_once(short_model, drive):
    motion = short_model.play(drive)
    assert motion.status.ok
    assert motion.t[0] == 0.0
    assert motion.t[-1] == drive.end
    assert np.all(np.diff(motion.t) > 0)
    assert np.max(np.diff(motion.t)) <= Tolerances().grid * (1 + 1e-9)
    for piece in drive.pieces:
        assert np.sum(motion.t == piece.end) == 1
    assert motion.y.shape == (len(motion.t), len(motion.kernel.states))
    assert motion.seen.shape == (len(motion.t), len(motion.kernel.observables))
    assert motion.pieces == len(drive.pieces)


def test_the_finger_is_where_the_drive_puts_it(short_model):
    # The stretch of the finger's pad is the drive's way less the key's, from where the key rests.
    motion = short_model.play(STROKE)
    moved = motion["stretch_finger"] + motion["key_travel"] - motion["key_travel"][0]
    ways = [next(p for p in STROKE.pieces if t <= p.end).way_at(t) for t in motion.t]
    assert moved == pytest.approx(ways, abs=1e-12)


def test_a_quantity_by_name(short_model):
    motion = short_model.play(TAP)
    assert np.array_equal(motion["q_key"], motion.y[:, motion.kernel.states.index("q_key")])
    assert np.array_equal(motion["key_force"], motion.seen[:, motion.kernel.observables.index("key_force")])
    with pytest.raises(KeyError, match="no 'key_travl' in this motion; did you mean 'key_travel'"):
        motion["key_travl"]


def test_the_step_is_bounded(short_model):
    still = drives.stroke(0.1, 0.3, 0.1, 1e-6, rest=0.5)
    motion = short_model.play(still, Tolerances(max_step=1e-3))
    assert motion.steps >= 1000


# -- the audit -------------------------------------------------------------------------------------------
def test_the_energy_adds_up(short_model):
    audit = short_model.play(STROKE).audit
    assert abs(audit.residual) < 1e-4 * audit.throughput
    assert audit.finger > 0 and audit.friction > 0 and audit.damping > 0


def left_over(model, relative):
    errors = dict.fromkeys(("speed", "slip"), relative) | {"way": 1e-3 * relative, "pressure": 1e3 * relative}
    tolerances = Tolerances(relative=relative, work=1e-3 * relative, **errors)
    return abs(model.play(STROKE, tolerances).audit.residual)


def test_finer_tolerances_leave_less_over(short_model):
    # What is left over changes its sign, so that one tolerance alone may be lucky: the worst of three.
    rough, fine = (max(left_over(short_model, r * k) for k in (1, 2, 4)) for r in (1e-4, 1e-8))
    assert fine < 0.1 * rough


def test_an_audit_is_what_came_in_less_what_went():
    audit = Audit(finger=5.0, wind=-1.0, friction=2.0, damping=1.0, stored=0.5)
    assert audit.residual == 0.5
    assert audit.throughput == 6.0
    assert Audit(0.0, 0.0, 0.0, 0.0, 0.0).throughput > 0


# -- the ladder ------------------------------------------------------------------------------------------
def test_the_first_method_serves_when_it_can(short_model, methods):
    called, _ = methods
    motion = short_model.play(TAP)
    assert {name for name, _ in called} == {"LSODA"}
    assert motion.status == Status(True, "LSODA")
    assert str(motion.status) == "LSODA: done"


@pytest.mark.parametrize("failing", [LADDER[:1], LADDER[:2]])
def test_the_next_method_takes_over_and_the_status_says_so(short_model, methods, failing):
    called, fail = methods
    usual = short_model.play(TAP)
    for name in failing:
        fail(name)
    motion = short_model.play(TAP)
    serving = LADDER[len(failing)]
    assert motion.status.ok
    assert motion.status.method == serving
    assert motion.status.attempts == tuple(
        f"{name} at {piece.start * 1e3:.1f} ms: made to fail" for piece in TAP.pieces for name in failing
    )
    assert len([1 for name, _ in called if name == serving]) == len(TAP.pieces)
    # Another method, the same motion.
    assert np.array_equal(motion.t, usual.t)
    assert np.max(np.abs(motion["key_travel"] - usual["key_travel"])) < 2e-7
    assert np.max(np.abs(motion["key_force"] - usual["key_force"])) < 5e-3


def test_only_the_piece_that_fails_changes_hands(short_model, methods):
    _, fail = methods
    lift = TAP.pieces[2].start
    fail("LSODA", when=lambda t: t == lift)
    motion = short_model.play(TAP)
    assert motion.status.ok
    assert motion.status.method == "LSODA+Radau"
    assert motion.status.attempts == (f"LSODA at {lift * 1e3:.1f} ms: made to fail",)


def test_when_all_fail_the_motion_ends_there_with_reason_and_remedy(short_model, methods):
    _, fail = methods
    lift = TAP.pieces[2].start
    for name in LADDER:
        fail(name, when=lambda t: t >= lift)
    motion = short_model.play(TAP)
    assert not motion.status.ok
    assert motion.t[-1] == lift
    assert motion.pieces == 2
    assert len(motion.y) == len(motion.t) == len(motion.seen)
    assert motion.status.message == f"BDF at {lift * 1e3:.1f} ms: made to fail"
    assert "look for absurd values with `keyaction check`" in motion.status.remedy
    assert [text.split()[0] for text in motion.status.attempts] == list(LADDER)
    assert str(motion.status) == f"failed: {motion.status.message}; {motion.status.remedy}"


def test_when_the_first_piece_fails_the_state_of_rest_is_left(short_model, methods):
    _, fail = methods
    for name in LADDER:
        fail(name)
    motion = short_model.play(TAP)
    assert not motion.status.ok
    assert np.array_equal(motion.y, short_model.rest()[None, :])
    assert motion["key_force"][0] == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize("problem", [ValueError, ZeroDivisionError, OverflowError, np.linalg.LinAlgError])
def test_whatever_a_method_stumbles_over_the_next_is_tried(short_model, methods, problem):
    _, fail = methods

    def stumble(*_):
        raise problem("stumbled")

    fail("LSODA", how=stumble)
    assert short_model.play(TAP).status.method == "Radau"


def test_a_path_that_is_no_number_is_a_failure(short_model, methods):
    _, fail = methods
    fail("LSODA", how=lambda y, times: (np.full((len(times), len(y)), np.nan), 1, 1))
    motion = short_model.play(TAP)
    assert motion.status.method == "Radau"
    assert "grew beyond all bounds" in motion.status.attempts[0]


def test_a_ladder_of_ones_own(short_model):
    model = short_model
    kernel, p, start = model.kernel(), model.parameters(), model.rest()
    motion = integrate.integrate(kernel, p, start, TAP, ladder=("BDF",))
    assert motion.status == Status(True, "BDF")


# -- absurd values ---------------------------------------------------------------------------------------
ABSURD = {
    "stiffness beyond all numbers": {"k_pull_down": 1e300},
    "weight beyond all numbers": {"g": 1e300},
    "no inertia": {"J_pallet": 0.0, "m_pull_down": 0.0},
    "no groove": {"V_groove": 0.0},
    "not a number": {"p_box": float("nan")},
}


@pytest.mark.parametrize("values", ABSURD.values(), ids=ABSURD)
def test_absurd_values_end_in_a_status_with_a_remedy(short_model, values, capfd):
    absurd = NoteModel(tuned(short_model.train, **values))
    with np.errstate(all="ignore"):
        motion = absurd.play(TAP)
    assert not motion.status.ok
    assert motion.status.message
    assert "look for absurd values" in motion.status.remedy
    assert len(motion.status.attempts) >= len(LADDER)
    told = capfd.readouterr()
    assert told.out == "" and told.err == ""  # the libraries below do not chatter


def test_a_note_with_absurd_values_is_a_result_with_a_reason(short_model, short_case):
    absurd = tuned(short_model.train, V_groove=0.0)
    with np.errstate(all="ignore"):
        result = play_note(60, absurd, short_case.strokes)
        with pytest.raises(NotPlayed, match=r"^standard stroke: .*look for absurd values"):
            play_record(NoteModel(absurd), short_case.strokes)
    assert not result.ok
    assert result.status.startswith("failed: standard stroke: ")  # an equilibrium asks for no volume
    assert result.quantities == {} and result.curves == {}


# -- tolerances ------------------------------------------------------------------------------------------
def test_each_state_has_the_tolerance_of_its_kind():
    tol = Tolerances()
    kinds = ("coordinate", "speed", "pressure", "work", "slip")
    assert list(tol.absolute(kinds)) == [tol.way, tol.speed, tol.pressure, tol.work, tol.slip]
