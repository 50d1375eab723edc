"""Natural frequencies against oscillators put together by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from demo_train import tuned
from spellings import figures, names

from keyaction.cases.action.strokes import usual_strokes
from keyaction.sim.figures.modes import LOADED, modes
from keyaction.sim.figures.play import play_record
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.right_hand_side import jacobian

RODS = ("riser", "level-tracker", "drop", "pull-down")


@pytest.fixture(scope="module")
def short_record(short_case, short_model):
    return play_record(short_model, short_case.strokes, Repetition(float("nan"), "", 0))


def seat_stiffness(record):
    """Tangent of the seat's F = K x^1.5 about the hinge, at the way where the modes are taken, N m/rad."""
    part = record.model.train.role("pallet")
    figures = {name: item.value for name, item in part.values.derived.items()}
    squeeze = figures["x0_seat"] - figures["r_seat"] * state(record, "q_pallet")
    return 1.5 * figures["K_seat"] * np.sqrt(squeeze) * figures["r_seat"] ** 2


def state(record, name):
    down = record.press.down
    way = down.finger[0] + LOADED * (down.at(record.press.pluck_place, down.finger) - down.finger[0])
    return np.interp(way, down.finger[down.met], down[name][down.met])


def test_a_key_and_its_pallet_are_a_two_mass_oscillator(short_record):
    train = short_record.model.train
    d = {name: item.value for name, item in figures(train).items()}
    arm, eye, rod, wire = 0.250, 0.165, d["k_pull_down"], d["m_pull_down"]
    inertia = np.diag([d["J_key"] + wire / 2 * arm**2, d["J_pallet"] + wire / 2 * eye**2])
    shut = seat_stiffness(short_record) + d["k_pallet_spring"]
    stiffness = rod * np.array([[arm**2, -arm * eye], [-arm * eye, eye**2]]) + np.diag([0.0, shut])
    squares, _ = np.linalg.eig(np.linalg.inv(inertia) @ stiffness)
    by_hand = np.sqrt(np.sort(squares)) / (2 * np.pi)
    found = modes(short_record)
    assert found.coordinates == ("key", "pallet")
    assert found.frequencies == pytest.approx(by_hand, rel=2e-3)
    # In the slow mode both go together, in the fast one against each other; the largest entry is 1.
    slow, fast = found.shapes
    assert slow[0] * slow[1] > 0 > fast[0] * fast[1]
    assert np.max(np.abs(found.shapes), axis=1) == pytest.approx(np.ones(2))


def series(record, ratios):
    """Stiffness of the whole taut train at the key front, N/m: every part's, by its ratio, one after the other."""
    d = {name: item.value for name, item in figures(record.model.train).items()}
    give = sum(1 / (d[f"k_{rod.replace('-', '_')}"] * ratios[rod] ** 2) for rod in RODS)
    give += 1 / (d["K_roller"] * (ratios["drop"] / 0.060) ** 2)
    give += 1 / ((seat_stiffness(record) + d["k_pallet_spring"]) * (ratios["pull-down"] / 0.170) ** 2)
    return 1 / give


LIGHT = 1e-5


@pytest.fixture(scope="module")
def lightened(record):
    """The real note's record without friction, and with every part but the key made light."""
    train = record.model.train
    known = names(train)
    heavy = [text for text, name in known.items() if name.what in ("J", "m") and name.part != "key"]
    assert len(heavy) >= 8
    rubbing = [text for text, name in known.items() if name.what.split("_")[0] in ("tau0", "c")]
    changed = {name: LIGHT * figures(train)[name].value for name in heavy} | dict.fromkeys(rubbing, 0.0)
    light = tuned(train, **changed)
    return SimpleNamespace(model=NoteModel(light), kinematics=record.kinematics, press=record.press)


def test_with_all_but_the_key_light_the_train_is_one_mass_on_a_row_of_springs(lightened):
    lever = 0.150 / 0.230
    stiffness = series(lightened, dict.fromkeys(RODS, lever))
    mass = figures(lightened.model.train)["J_key"].value / 0.230**2
    found = modes(lightened)
    assert found.frequencies[0] == pytest.approx(np.sqrt(stiffness / mass) / (2 * np.pi), rel=3e-3)
    # The others are light bodies: far above.
    assert found.frequencies[1] > 30 * found.frequencies[0]


def test_the_real_train_is_slower_than_the_light_one_and_its_modes_rise(record, lightened):
    found = modes(record)
    assert found.frequencies[0] < modes(lightened).frequencies[0]
    assert np.all(np.diff(found.frequencies) >= 0)
    assert np.all(found.frequencies > 0)
    assert found.shapes.shape == (len(found.coordinates),) * 2
    # By Rayleigh: the whole effective mass on the row of springs bounds the lowest mode from below.
    mass = sum(record.kinematics.effective_masses(record.rest, record.model.parameters()).values())
    lever = 0.150 / 0.230
    stiffness = series(record, dict.fromkeys(RODS, lever))
    assert found.frequencies[0] > np.sqrt(stiffness / mass) / (2 * np.pi)


def test_a_pallet_that_never_opens_has_no_modes(record):
    press = SimpleNamespace(down=record.press.down, pluck_place=float("nan"))
    shut = SimpleNamespace(model=record.model, kinematics=record.kinematics, press=press)
    found = modes(shut)
    assert np.isnan(found.frequencies).all() and np.isnan(found.shapes).all()
    assert found.coordinates == record.kinematics.coordinates


# -- of a model, and about a state -----------------------------------------------------------------------
def test_a_model_has_the_modes_of_its_record(short_case, short_model, short_record):
    by_record, by_model = modes(short_record), modes(short_model, short_case.strokes)
    assert np.array_equal(by_record.frequencies, by_model.frequencies)
    assert np.array_equal(by_record.shapes, by_model.shapes)


def test_the_usual_strokes_are_those_of_a_case_that_says_nothing(short_case, short_model):
    assert {path: one.value for path, one in usual_strokes().given.items()} == {
        path: one.value for path, one in short_case.strokes.given.items()
    }
    assert modes(short_model).frequencies == pytest.approx(modes(short_model, short_case.strokes).frequencies)


def test_modes_about_a_state_are_the_eigenvalues_of_the_jacobian(short_model, short_record):
    press = short_record.press
    y = press.down.states[int(press.pluck_place / 2)]
    found = modes(short_model, state=y)
    still = y.copy()
    for i, row in enumerate(short_model.train.system().states):
        if row.kind in ("speed", "slip"):
            still[i] = 0.0
    n = len(found.coordinates)
    stiffness = -jacobian(short_model, still)[n : 2 * n, :n]
    squares = (2 * np.pi * found.frequencies) ** 2
    for square, shape in zip(squares, found.shapes, strict=True):
        assert stiffness @ shape == pytest.approx(square * shape, rel=1e-6, abs=1e-6 * square)


def test_a_state_of_another_length_is_refused(short_model):
    with pytest.raises(ValueError, match="entries in one axis"):
        modes(short_model, state=np.zeros(3))
