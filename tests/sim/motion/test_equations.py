"""A note's equations in SymPy against the compiled ones, and against its own energies."""

import numpy as np
import pytest
import sympy as sp

from keyaction.models.notes import NoteProblem
from keyaction.sim.motion import drives
from keyaction.sim.motion.equations import equations
from keyaction.sim.motion.right_hand_side import right_hand_side

STROKE = drives.stroke(0.03, 0.05, 0.03, 0.011, rest=0.05)


@pytest.fixture(scope="module")
def found(short_model):
    return equations(short_model)


def inputs(found, drive, t):
    """What the drive sets at a time, in the order of the equations."""
    piece = next(p for p in drive.pieces if t <= p.end)
    s = t - piece.start
    known = {
        "x_finger": piece.way_at(t),
        "v_finger": sum(i * c * s ** (i - 1) for i, c in enumerate(piece.way) if i),
        "f_finger": piece.force_at(t),
        "k_finger": drive.stiffness,
        "alpha_finger": drive.damping,
        "m_rider": drive.mass,
    }
    return [known[symbol.name] for symbol in found.inputs]


@pytest.mark.parametrize("drive", [STROKE, drives.laid_mass(0.3, laying=0.1, hold=0.1)], ids=["finger", "mass"])
def test_the_expressions_give_the_compiled_rates(short_model, drive):
    found = equations(short_model, laid_mass=drive.rider)
    ours, f = found.function(), right_hand_side(short_model, drive)
    motion = short_model.play(drive)
    for i in np.linspace(1, len(motion.t) - 2, 40).astype(int):
        t, y = float(motion.t[i]), motion.y[i]
        if np.any(np.abs(f.breaks - t) < 1e-9):
            continue
        compiled = f(t, y)
        scale = 1e-9 * np.abs(compiled) + 1e-7
        assert np.all(np.abs(np.array(ours(y, inputs(found, f.drive, t))) - compiled) <= scale), t


def test_nothing_is_left_once_definitions_are_substituted(found):
    whole = found.substituted()
    known = {*whole.states, *whole.parameters, *whole.inputs}
    assert found.definitions and not whole.definitions
    assert whole.rates.free_symbols <= known and whole.mass.free_symbols <= known
    assert not found.rates.free_symbols <= known
    assert set(whole.units) == known == set(whole.meanings)
    assert whole.substituted() == whole
    assert whole.rates.shape == (len(whole.states), 1)


def test_the_mass_matrix_is_that_of_the_kinetic_energy(short_model, found):
    system = short_model.train.system()
    energy = sum(term for _, term in system.kinetic)
    speeds = [c.v for c in system.coordinates]
    assert sp.simplify(sp.hessian(energy, speeds) - sp.Matrix(found.mass)) == sp.zeros(len(speeds))
    at_rest = dict(found.parameters) | dict.fromkeys(found.states, 0.0)
    values = np.array(found.mass.xreplace(at_rest).evalf(), dtype=float)
    assert np.all(np.linalg.eigvalsh(values) > 0)


def test_coordinates_come_first_and_their_rates_are_speeds(found):
    m = len(found.coordinates)
    assert found.states[:m] == found.coordinates
    assert list(found.rates[:m]) == list(found.states[m : 2 * m])


def test_values_are_those_of_the_note(short_model, found):
    train = short_model.train
    kernel = short_model.kernel()
    wanted = dict(zip(kernel.spellings, train.vector(kernel.parameters), strict=True))
    assert {s.name: value for s, value in found.parameters.items()} == wanted
    box = found.symbol("p_box")
    assert found.units[box] == "Pa" and "pressure" in found.meanings[box]
    with pytest.raises(KeyError):
        found.symbol("nonsense")


def test_a_note_is_named_once(short_case, short_model):
    by_name = equations(short_case, "C4", substituted=True)
    assert by_name == equations(short_model.train, substituted=True)
    with pytest.raises(TypeError, match="which note of the case"):
        equations(short_case)
    with pytest.raises(TypeError, match="leave the name out"):
        equations(short_model, "C4")
    with pytest.raises(NoteProblem):
        equations(short_case, "C9")
    with pytest.raises(NoteProblem, match="names 3 notes; one is needed"):
        equations(short_case, "C4:D4")
