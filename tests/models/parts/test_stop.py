"""The stop of a pallet by hand: a felt at a given way, on the far side."""

import numpy as np
import pytest
from by_hand import figures, load_on
from demo_train import FRICTIONLESS

from keyaction.cases.action.reader import read_case
from keyaction.models.train.train import TrainProblem
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.motion import drives
from keyaction.sim.motion.strokes import standard_stroke
from keyaction.sim.statics.press import press

STOP = {"pallet.stop.gap": "5.5 mm", "pallet.stop.squeeze": "0.5 mm", "pallet.stop.force": "3 N"}
PRESS = drives.press(0.01, 0.011, 20000.0)


def test_its_place(make_train):
    found = figures(make_train(**STOP), "pallet")
    assert (found["r_stop"], found["gap_stop"]) == pytest.approx((0.200, 0.0055), rel=1e-12)
    # Nearer to the hinge the way is shorter by the arms; an angle is the same thing.
    nearer = figures(make_train(**STOP, **{"pallet.stop.at": "150 mm"}), "pallet")
    assert (nearer["r_stop"], nearer["gap_stop"]) == pytest.approx((0.150, 0.0055 * 150 / 200), rel=1e-12)
    by_angle = {**STOP, "pallet.stop.gap": None, "pallet.stop.angle": 0.0055 / 0.200}
    assert figures(make_train(**by_angle), "pallet")["gap_stop"] == pytest.approx(0.0055, rel=1e-12)
    assert found["K_stop"] == pytest.approx(3.0 / 0.0005**1.5, rel=1e-12)


def test_a_pallet_without_a_stop_knows_of_none(make_train):
    train = make_train()
    assert "gap_stop" not in figures(train, "pallet")
    assert not [element for element in train.system().elements if element.place == "stop"]


def test_a_stop_without_a_place_or_a_felt_is_refused(make_train):
    with pytest.raises(TrainProblem) as told:
        make_train(**{"pallet.stop.at": "150 mm"})
    assert told.value.defects == (
        "pallet, field stop.gap: give it, or else stop.angle",
        "pallet, field stop.angle: missing",
        "pallet, field stop: give material, thickness and area, or else squeeze and force",
    )


def test_it_is_carried_by_the_hinge(make_train):
    train = make_train(**STOP)
    wind = 75 * 9.80665 * (0.017 + 0.003) * (0.220 + 0.003)
    alone, stopped = (load_on(train, "pin_pallet", F_stop_pallet=force) for force in (0.0, 2.0))
    assert stopped - alone == pytest.approx(2.0, rel=1e-4)
    assert alone < wind


def test_the_lift_is_the_stop_and_its_squeeze(make_model):
    # Held at the bottom: 5.5 mm and what its felt gives under its load, x = 0.5 mm (F / 3 N)^(2/3), along the arc.
    motion = make_model(**STOP).play(PRESS)
    assert motion.status.ok
    held = np.searchsorted(motion.t, motion.drive.mark("lift")) - 1
    load = motion["force_pallet-stop"][held]
    turn = (0.0055 + 0.0005 * (load / 3.0) ** (2 / 3)) / 0.200
    assert load > 1.0
    assert motion["q_pallet"][held] == pytest.approx(turn, rel=1e-6)
    assert motion["pallet_lift"][held] == pytest.approx(0.200 * np.sin(turn), rel=1e-6)
    free = make_model().play(PRESS)["pallet_lift"][held]
    assert motion["pallet_lift"][held] < free - 0.2e-3


def test_its_load_comes_from_the_finger(make_model):
    # Statics: behind a stop the pull-down carries spring and wind and the stop's load, at one arm.
    motion = make_model(**STOP, **FRICTIONLESS).play(PRESS)
    held = np.searchsorted(motion.t, motion.drive.mark("lift")) - 1
    turn = motion["q_pallet"][held]
    sealed = (0.017 + 0.003) * (0.2365**2 - 0.0135**2) / 2
    spring, wind = 2.3 * 0.120 + 12.0 * 0.120**2 * turn, (75 * 9.80665 - motion["groove_pressure"][held]) * sealed
    weight = 1120 * 0.36 * 0.022 * 0.023 * 0.238**2 / 2 * 9.80665
    wire = (8850 * np.pi * 0.0015**2 / 4 * 0.250 + 0.001) / 2 * 9.80665
    opening = (motion["force_pd"][held] + wire) * 0.200 * np.cos(turn) + weight * np.cos(turn)
    assert opening == pytest.approx(spring + wind + motion["force_pallet-stop"][held] * 0.200, rel=1e-4)


def test_the_energy_is_all_accounted_for(make_model):
    motion = make_model(**STOP).play(drives.stroke(0.04, 0.15, 0.04, 1.15 * 0.0095))
    assert motion["force_pallet-stop"].max() > 3.0  # it knocks
    assert abs(motion.audit.residual) < 1e-4 * motion.audit.throughput


def test_statics_stop_there_too(make_model):
    model = make_model(**STOP)
    motion = model.play(PRESS)
    held = np.searchsorted(motion.t, motion.drive.mark("lift")) - 1
    down = press(model, dip_force=motion["key_force"][held]).down
    lift = down.seen[:, model.kernel().observables.index("pallet_lift")]
    assert lift.max() == pytest.approx(motion["pallet_lift"][held], rel=1e-3)


def test_lanes_stop_there_too(make_model):
    model, strokes = make_model(**STOP), read_case("demo-wood").strokes
    motion = model.play(standard_stroke(model, strokes))
    batch = Batch.of([model.train] * 2)
    rest = batch.rest()
    told = batch.trace(batch.stroke_drive(strokes, rest), rest, 0.4)
    lift = told.seen[0, :, batch.observables.index("pallet_lift")]
    by_scipy = np.interp(told.t, motion.t, motion["pallet_lift"])
    assert lift.max() == pytest.approx(motion["pallet_lift"].max(), rel=5e-3)
    assert np.max(np.abs(lift - by_scipy)[told.t < 0.18]) < 0.02 * lift.max()
