"""Notes that share a box: against themselves alone, closed forms, a second integration, and audits of work."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from trees import two_pallets

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.algebra.names import Name
from keyaction.models.formulas.supply import steady_box
from keyaction.sim.chord.hands import even, held, later
from keyaction.sim.chord.places import Player, grooves_of
from keyaction.sim.chord.together import play_together
from keyaction.sim.motion.drives import stroke
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.wind.stops import with_stops
from keyaction.sim.wind.supplies import supply_of

BOX = {"box": "box"}


@pytest.fixture(scope="module")
def case():
    return read_case("demo-wood")


@pytest.fixture(scope="module")
def notes(case):
    return {name: NoteModel(train_of(case, name)) for name in ("C3", "C4")}


@pytest.fixture(scope="module")
def fed(notes):
    """A box that moves a good deal."""
    holds = supply_of(notes["C4"].train.role("box"))
    return replace(holds, volume=0.02, area=1.5e-3, length=1.0, loss=1.5, fall=0.0)


def struck(model, hold=0.06):
    return stroke(0.03, hold, 0.03, 1.15 * model.train.dip, rest=0.1)


def players(notes, drive=struck):
    return [Player(name, model, drive(model), BOX) for name, model in notes.items()]


def still(model):
    return held(0.03, 1.15 * model.train.dip, 1.0, 3000.0)


@pytest.fixture(scope="module")
def together(notes, fed):
    # At a third of the usual errors: at these the residual is 2e-5 of what went through, more or less by the processor.
    return play_together(players(notes), {"box": fed}, notes["C4"].tolerances.finer(3.0))


def test_the_box_sags_and_all_goes_well(together, fed):
    assert together.status.ok
    box = together.boxes["box"].pressure
    assert box[0] == fed.pressure
    assert 0.05 * fed.pressure < box.min() < 0.9 * fed.pressure
    assert all(motion["groove_pressure"].max() > 0.5 * fed.pressure for motion in together.notes.values())


def test_work_of_trains_and_air_is_stored_or_lost(together):
    audit = together.audit
    assert min(audit.finger, audit.reservoir, audit.friction, audit.damping, audit.trunk, audit.openings) > 0.0
    assert abs(audit.residual) < 2e-5 * audit.throughput
    # Any account left out is far more than what is missing.
    assert min(audit.trunk, audit.openings, audit.friction) > 100 * abs(audit.residual)


def test_the_audit_closes_the_more_the_finer_it_is_integrated(notes, fed, together):
    finer = play_together(players(notes), {"box": fed}, notes["C4"].tolerances.finer(100.0))
    assert abs(finer.audit.residual) < 1e-6 * finer.audit.throughput
    assert abs(finer.audit.residual) < abs(together.audit.residual) / 3
    drift = np.max(np.abs(finer.boxes["box"].pressure - together.boxes["box"].pressure))
    assert drift < 2e-3 * fed.pressure


def test_each_note_s_own_audit_closes_too(together):
    for motion in together.notes.values():
        assert abs(motion.audit.residual) < 1e-3 * motion.audit.throughput


def test_a_box_that_cannot_move_gives_each_note_s_own_motion_to_the_last_digit(notes, fed):
    holds = replace(fed, area=float("inf"), length=0.0, loss=0.0)
    found = play_together(players(notes), {"box": holds})
    for name, model in notes.items():
        alone = model.play(struck(model))
        assert np.array_equal(found.notes[name].y, alone.y)
        assert np.array_equal(found.notes[name].seen, alone.seen)
    assert np.all(found.boxes["box"].pressure == fed.pressure)
    assert found.boxes["box"].flow.max() > 0.003


def test_a_huge_trunk_comes_near_to_that(notes, fed):
    huge = replace(fed, volume=10.0, area=1.0, length=0.05, loss=1.5)
    found = play_together(players(notes), {"box": huge})
    model = notes["C4"]
    alone = model.play(struck(model))
    held_at = np.searchsorted(alone.t, 0.08)
    for name in ("groove_pressure", "pallet_lift"):
        assert found.notes["C4"][name][held_at] == pytest.approx(alone[name][held_at], rel=1e-3)


def test_a_second_way_to_the_same_pressures(notes, fed):
    """Plain joint equations by another method: flow by the observable, swept volume by the pallet's speed."""
    pair, end = list(notes.items()), 0.055
    kernels = [model.kernel() for _, model in pair]
    parameters = [model.parameters() for _, model in pair]
    drives = [model.at_rest(struck(model)) for _, model in pair]
    sizes = [len(kernel.states) for kernel in kernels]
    places = [kernel.parameters.index(Name("box", "p_box")) for kernel in kernels]
    turning = [kernel.states.index("v_pallet") for kernel in kernels]
    flows = [kernel.observables.index("flow_in") for kernel in kernels]
    swept = [model.train.value("pallet", "S_wind") for _, model in pair]
    inertance, drag = fed.density * fed.length / fed.area, fed.loss * fed.density / (2 * fed.area**2)

    def rates(t, y):
        box, flow = y[-2:]
        found, net, at = [], 0.0, 0
        for i, (_, model) in enumerate(pair):
            piece = next(one for one in drives[i].pieces if one.start <= t <= one.end)
            p, d, state = parameters[i].copy(), model.vector(drives[i], piece), y[at : at + sizes[i]]
            p[places[i]] = box
            found.append(kernels[i].rates(t, state, p, d))
            seen = kernels[i].observe(np.array([t]), state[None, :], p, d)[0]
            net += seen[flows[i]] - swept[i] * state[turning[i]]
            at += sizes[i]
        rise = 1.4 * fed.atmosphere / fed.volume * (flow - net)
        return np.concatenate([*found, [rise, (fed.pressure - box - drag * abs(flow) * flow) / inertance]])

    y = np.concatenate([*(model.rest() for _, model in pair), [fed.pressure, 0.0]])
    for start, stop in ((0.0, 0.03), (0.03, end)):
        steps = solve_ivp(rates, (start, stop), y, method="LSODA", rtol=1e-7, atol=1e-10, max_step=1e-3)
        assert steps.success
        y = steps.y[:, -1]
    finer = play_together(players(notes), {"box": fed}, pair[0][1].tolerances.finer(100.0))
    for ours, theirs in ((finer.boxes["box"].pressure, y[-2]), (finer.boxes["box"].flow, y[-1])):
        assert np.interp(end, finer.t, ours) == pytest.approx(theirs, rel=1e-5)
    assert y[-2] != pytest.approx(fed.pressure, rel=0.05)


@pytest.mark.parametrize("count", [1, 3])
def test_equal_notes_held_against_orifices_in_series(notes, fed, count):
    supply = replace(fed, area=3e-4, fall=2000.0)
    model = notes["C4"]
    chord = [Player(f"note {i}", model, still(model), BOX) for i in range(count)]
    found = play_together(chord, {"box": supply})
    train = model.train
    motion = found.notes["note 0"]
    # By hand: Cd gap slot / root of the sum of their squares, at the turn at which the pallet is held.
    turn = motion["q_pallet"][-1] - train.value("pallet", "q_open")
    gap, slot = train.value("pallet", "gap") * turn, train.value("pallet", "A_slot")
    opening = train.value("groove", "Cd") * gap * slot / np.hypot(gap, slot)
    toes = train.value("groove", "A_out")
    note = opening * toes / np.hypot(opening, toes)
    box = steady_box(supply.pressure, 2000.0, supply.area / np.sqrt(1.5), count * note, supply.density)
    assert found.boxes["box"].pressure[-1] == pytest.approx(box, rel=2e-4)
    assert motion["groove_pressure"][-1] == pytest.approx(box * opening**2 / (opening**2 + toes**2), rel=5e-4)
    assert box < 0.96 * supply.pressure


def test_a_reservoir_that_falls_without_a_trunk(notes, fed):
    supply = replace(fed, area=float("inf"), length=0.0, loss=0.0, fall=5e4)
    found = play_together([Player("C4", notes["C4"], still(notes["C4"]), BOX)], {"box": supply})
    course = found.boxes["box"]
    assert course.pressure[-1] == pytest.approx(supply.pressure - 5e4 * course.flow[-1], rel=1e-9)
    assert course.pressure[-1] < 0.9 * supply.pressure
    assert abs(found.audit.residual) < 2e-5 * found.audit.throughput


def test_nothing_drawn_takes_only_the_leak(case, fed):
    model = NoteModel(with_stops(train_of(case, "C4"), []))
    found = play_together([Player("C4", model, still(model), BOX)], {"box": fed})
    # Box and trunk swing on, with next to nothing to stop them: ten whole swings.
    course, late = found.boxes["box"], found.t > found.t[-1] - 10 / fed.swing
    assert np.mean(course.pressure[late]) == pytest.approx(fed.pressure, rel=1e-3)
    leak = model.train.value("groove", "A_out") * np.sqrt(2 * fed.pressure / fed.density)
    assert np.mean(found.notes["C4"]["flow_in"][late]) == pytest.approx(leak, rel=1e-2)
    assert leak < 1e-4


def test_no_wind(fed):
    model = NoteModel(train_of(read_case("demo-wood", set_={"box.pressure": "0 Pa"}), "C4"))
    found = play_together([Player("C4", model, struck(model), BOX)], {"box": replace(fed, pressure=0.0)})
    assert found.status.ok
    # The pallet sweeps air out of a shut box: no more than its volume over the box's, adiabatic.
    swept = model.train.value("pallet", "S_wind") * np.max(found.notes["C4"]["q_pallet"])
    assert 1.0 < np.max(np.abs(found.boxes["box"].pressure)) < 1.4 * fed.atmosphere * swept / fed.volume
    assert abs(found.audit.residual) < 1e-3 * found.audit.throughput


def test_a_tiny_box_follows_at_once(notes, fed):
    tiny = replace(fed, volume=1e-4, area=5e-3, length=0.02)
    found = play_together([Player("C4", notes["C4"], struck(notes["C4"]), BOX)], {"box": tiny})
    assert found.status.ok
    assert abs(found.audit.residual) < 5e-5 * found.audit.throughput


def test_a_note_that_is_held_hears_another_struck(notes, fed):
    first, other = notes["C3"], notes["C4"]
    drives = even([still(first), later(struck(other), 0.5)])
    chord = [Player("C3", first, drives[0], BOX), Player("C4", other, drives[1], BOX)]
    found = play_together(chord, {"box": fed})
    groove, t = found.notes["C3"]["groove_pressure"], found.t
    before, after = groove[(t > 0.4) & (t < 0.5)], groove[(t > 0.52) & (t < 0.6)]
    assert after.min() < before.min() - 0.05 * fed.pressure
    assert found.notes["C4"]["key_travel"][np.searchsorted(t, 0.49)] == pytest.approx(
        found.notes["C4"]["key_travel"][0], abs=1e-4
    )


def test_a_leak_past_a_seat_pulls_the_box_down_before_anything_is_played(fed):
    leaky = read_case("demo-wood", set_={"pallet.seat_leak": "200 mm^2"})
    model = NoteModel(train_of(leaky, "C4"))
    found = play_together([Player("C4", model, struck(model), BOX)], {"box": replace(fed, area=3e-4)})
    box = found.boxes["box"]
    assert box.pressure[0] < 0.99 * fed.pressure
    assert abs(box.pressure[100] - box.pressure[0]) < 1.0  # Pa in 10 ms: it rests there


def test_a_tree_with_two_pallets_draws_from_its_box_by_both(fed):
    model = NoteModel(two_pallets())
    grooves = grooves_of(model)
    assert len({one.state for one in grooves}) == len({one.pallet for one in grooves}) == 2
    supply = replace(fed, pressure=model.train.box_pressure)
    boxes = {part.name: "box" for part in model.train.parts if part.role == "box"}
    found = play_together([Player("both", model, struck(model), boxes)], {"box": supply})
    assert found.status.ok
    assert abs(found.audit.residual) < 5e-5 * found.audit.throughput


def test_plain_python_gives_the_same(case, fed):
    drive = stroke(0.01, 0.005, 0.005, 0.008, rest=0.005)
    ways = []
    for plain in (False, True):
        model = NoteModel(train_of(case, "C4"), plain=plain)
        ways.append(play_together([Player("C4", model, drive, BOX)], {"box": fed}))
    compiled, plain = (way.boxes["box"].pressure for way in ways)
    assert compiled.min() < 0.9 * fed.pressure
    np.testing.assert_allclose(compiled, plain, rtol=2e-4)  # steps fall otherwise after the last bit of a rate


def test_what_cannot_be_played_together(notes, fed):
    with pytest.raises(ValueError, match="at least one note"):
        play_together([], {"box": fed})
    one = players(notes)[0]
    with pytest.raises(ValueError, match="one name"):
        play_together([one, one], {"box": fed})
    with pytest.raises(ValueError, match="end together"):
        play_together([one, replace(one, name="later", drive=later(one.drive, 0.1))], {"box": fed})
