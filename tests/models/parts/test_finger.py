"""What presses the key, by hand: a finger that only pushes, and a mass laid on."""

from math import pi, sin

import pytest
from by_hand import at_rest, figures
from spellings import figures as spelled

K, ALPHA, ARM = 5e4, 2.0, 0.230


def force_of(train, way, speed=0.0, turn=0.0):
    """The finger's force at a way and speed of its own on a key turned by so much and standing still."""
    system = train.system()
    given = {"k_finger": K, "alpha_finger": ALPHA, "x_finger": way, "v_finger": speed, "q_key": turn}
    moving = {c.q.name: 0.0 for c in system.coordinates} | {c.v.name: 0.0 for c in system.coordinates}
    known = {text: item.value for text, item in spelled(train).items()} | moving | given
    for one in system.definitions:  # in the order in which they are computed, until the finger's force is known
        known[one.symbol.name] = float(one.expr.subs({symbol: known[symbol.name] for symbol in one.expr.free_symbols}))
        if one.symbol.name == "F_finger":
            return known["F_finger"]
    raise LookupError("F_finger")


@pytest.mark.parametrize(
    ("way", "speed", "force"),
    [(1e-4, 0.0, K * 1e-4), (1e-4, 0.05, K * 1e-4 * (1 + ALPHA * 0.05)), (-1e-4, 0.0, 0.0), (1e-4, -2.0, 0.0)],
    ids=["pressing", "going in", "away", "leaving fast"],
)
def test_the_finger_pushes_and_never_pulls(make_train, way, speed, force):
    assert force_of(make_train(), way, speed) == pytest.approx(force, rel=1e-12)


def test_the_key_gives_way_under_the_finger(make_train):
    # The finger 5 mm down, the front turned down by 4.9 mm, and by more than the finger has gone.
    train = make_train()
    turn = 0.0049 / ARM
    assert force_of(train, 0.005, turn=turn) == pytest.approx(K * (0.005 - ARM * sin(turn)), rel=1e-9)
    assert force_of(train, 0.005, turn=0.0051 / ARM) == 0.0


def test_the_finger_turns_the_key_by_its_arm(make_train):
    train = make_train()
    named = {one.symbol.name: one for one in train.system().definitions}
    by_force = named["G_key"].expr.diff(named["F_finger"].symbol)
    assert at_rest(train, by_force) == pytest.approx(ARM, rel=1e-12)


def test_a_mass_laid_on_is_a_body_of_its_own(make_train):
    system = make_train().system(rider=True)
    (i,) = [i for i, c in enumerate(system.coordinates) if c.name == "rider"]
    assert str(system.mass[i, i]) == "m_rider"
    assert all(system.mass[i, j] == 0 for j in range(len(system.coordinates)) if j != i)


def test_the_front_moves_on_its_arm(make_train):
    # Travel r [sin(q + d) - sin d] of an arm that stands d past square to its line at rest.
    train = make_train(**{"key.front_angle": "3 deg"})
    system = train.system()
    (travel,) = [one.expr for one in system.observables if one.name == "key_travel"]
    (q,) = [c.q for c in system.coordinates if c.name == "key"]
    known = {p.symbol: train.parameters[p.name].value for p in system.params}
    expected = ARM * (sin(0.04 + pi / 60) - sin(pi / 60))
    assert float(travel.subs(known).subs(q, 0.04)) == pytest.approx(expected, rel=1e-12)
    assert figures(train, "key")["delta_front"] == pytest.approx(pi / 60, rel=1e-12)
