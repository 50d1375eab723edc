"""Who bends under its rods, by hand: series of beams, and when none is counted."""

import pytest
from beams import deflections
from by_hand import CARBON, MAPLE, SPRUCE, figures, swapped
from demo_train import BENDING

SHEAR = 5 / 6


def flexure(stuff, breadth, deep):
    """E I with the modulus along the grain, and G A times 5/6."""
    return 1.1 * stuff.e * breadth * deep**3 / 12, stuff.g * breadth * deep * SHEAR


STICK = flexure(SPRUCE, 0.022, 0.024)


def give(train, part, end):
    return figures(train, part)[f"give_{end}"]


def test_a_balanced_key_bends_over_its_pin(make_train):
    found = give(make_train(**{"key.bending": True}), "key", "out")
    by_elements = deflections([0.0, 0.230, 0.380], *STICK, (0, 1), {2: 1.0})[2]
    assert found == pytest.approx(by_elements, rel=1e-9)
    # A fifth of what the two ends of a tracker give (2 over 40 N/mm): not to be left out.
    assert found > 0.2 * 2 / 40e3


@pytest.mark.parametrize(("arm", "nodes", "held", "loaded"), [(0.120, (0, 0.12, 0.23), (0, 2), 1),
                                                              (0.260, (0, 0.23, 0.26), (0, 1), 2)])  # fmt: skip
def test_a_hung_key_bends_between_its_pin_and_the_finger(make_train, arm, nodes, held, loaded):
    train = make_train(**{"key.bending": True, "key.balance": "tail-hinged", "key.arm": arm})
    by_elements = deflections(nodes, *STICK, held, {loaded: 1.0})[loaded]
    assert give(train, "key", "out") == pytest.approx(by_elements, rel=1e-9)


@pytest.mark.parametrize("kind", ["square", "backfall"])
def test_a_levers_arms_are_cantilevers_from_the_hub(kind):
    train = swapped({"sq1": kind}, **{"sq1.bending": True, "sq1.in_arm": "80 mm"})
    for end, long in (("in", 0.080), ("out", 0.050)):
        by_elements = deflections([0.0, long], *flexure(MAPLE, 0.006, 0.015), (0,), {1: 1.0}, (0,))[1]
        assert give(train, "sq1", end) == pytest.approx(by_elements, rel=1e-9)


def test_a_roller_bends_in_its_arms_and_between_its_pins(make_train):
    train = make_train(**{"roller.bending": True, "roller.out_arm": "75 mm"})
    shaft = deflections([0.0, 0.020, 0.640], *flexure(SPRUCE, 0.025, 0.025), (0, 2), {1: 1.0})[1]
    for end, long in (("in", 0.060), ("out", 0.075)):
        arm = deflections([0.0, long], *flexure(MAPLE, 0.008, 0.015), (0,), {1: 1.0}, (0,))[1]
        assert give(train, "roller", end) == pytest.approx(arm + shaft, rel=1e-9)


def test_it_is_in_series_with_the_rods(make_train):
    stiff, bent = make_train(), make_train(**BENDING)
    hooks = {
        "t1": give(bent, "key", "out") + give(bent, "sq1", "in"),
        "t2": give(bent, "sq1", "out") + give(bent, "sq2", "in"),
        "t3": give(bent, "sq2", "out") + give(bent, "roller", "in"),
        "pd": give(bent, "roller", "out") + give(bent, "pallet", "in"),
    }
    for rod, hook in hooks.items():
        before, after = figures(stiff, rod), figures(bent, rod)
        assert 1 / after["k"] == pytest.approx(1 / before["k"] + hook, rel=1e-12)
        assert after["k_rod"] == before["k_rod"] == before["k"]
        assert after["give_near"] + after["give_far"] == pytest.approx(hook, rel=1e-12)


def test_a_rod_in_pieces_hangs_on_both(make_train):
    stiff, bent = make_train(**{"t1.pieces": 3}), make_train(**BENDING, **{"t1.pieces": 3})
    before, after = figures(stiff, "t1"), figures(bent, "t1")
    assert before["k"] == before["k_far"]
    assert 1 / after["k"] - 1 / before["k"] == pytest.approx(give(bent, "key", "out"), rel=1e-9)
    assert 1 / after["k_far"] - 1 / before["k_far"] == pytest.approx(give(bent, "sq1", "in"), rel=1e-9)


def test_nothing_bends_where_sizes_or_material_lack(make_train):
    measured = {"sq1.inertia": "50 g*cm^2", "sq1.mass": "6 g", "sq1.width": None}
    train = make_train(**BENDING, **measured)
    assert "give_in" not in figures(train, "sq1")
    assert figures(train, "t1")["give_far"] == 0.0
    assert figures(train, "t1")["give_near"] == pytest.approx(give(train, "key", "out"))


def test_carbon_bends_by_its_modulus_in_bending(make_train):
    # Its data sheet gives 127 GPa in bending beside 134 GPa in tension; no grain, so no factor.
    train = make_train(**{"sq1.bending": True, "sq1.material": "carbon-rod"})
    area = 0.006 * 0.015
    by_hand = 0.050**3 / (3 * 127e9 * area * 0.015**2 / 12) + 0.050 / (CARBON.g * area * SHEAR)
    assert give(train, "sq1", "in") == pytest.approx(by_hand, rel=1e-9)
