"""Tracker, pull-down and sticker by hand: a bar between two ends, whole or in pieces."""

from math import cos, pi, sqrt, tan

import pytest
from by_hand import (
    BRONZE,
    CARBON,
    CEDAR,
    MAPLE,
    SPRUCE,
    G,
    at_rest,
    carried_inertia,
    figures,
    rods_weight_on,
    swapped,
)

from keyaction.models.parts import PARTS

STRIP = 0.010 * 0.0012
END, FITTING = 4e4, 0.0005

# Fields of the level rod `t2`, its material and the area of its section.
SECTIONS = {
    "rectangle": ({}, CEDAR, STRIP),
    "round": ({"section": "round", "diameter": "2 mm", "material": "carbon-rod"}, CARBON, pi * 0.002**2 / 4),
    "tube": (
        {"section": "tube", "diameter": "4 mm", "wall": "0.5 mm", "material": "carbon-rod"},
        CARBON,
        pi * (0.004**2 - 0.003**2) / 4,
    ),
    "square": ({"section": "square", "width": "5 mm", "material": "sitka-spruce"}, SPRUCE, 0.005**2),
}


def level_rod(make_train, **fields):
    """The figures of the demo's level rod of 1.8 m with other fields."""
    return figures(make_train(**{f"t2.{name}": value for name, value in fields.items()}), "t2")


@pytest.mark.parametrize("shape", SECTIONS)
def test_mass_with_two_fittings(make_train, shape):
    fields, stuff, area = SECTIONS[shape]
    found = level_rod(make_train, end_mass="0.8 g", **fields)
    assert found["m"] == pytest.approx(stuff.density * area * 1.8 + 2 * 0.0008, rel=1e-12)


@pytest.mark.parametrize("shape", SECTIONS)
def test_stiffness_with_two_ends(make_train, shape):
    # Under 1 N the bar grows by L/EA and either end gives 1/k.
    fields, stuff, area = SECTIONS[shape]
    found = level_rod(make_train, end_stiffness="35 N/mm", **fields)
    grows = 1.8 / (stuff.axial * area) + 2 / 35e3
    assert grows * stuff.axial * area / 1.8 - 1 > 0.05  # the ends matter
    assert 1.0 / found["k"] == pytest.approx(grows, rel=1e-12)
    assert found["EA"] == pytest.approx(stuff.axial * area, rel=1e-12)
    assert found["wave_time"] == pytest.approx(1.8 * sqrt(stuff.density / stuff.axial), rel=1e-12)


def test_the_pull_down_wire(make_train):
    found = figures(make_train(), "pd")
    area = pi * 0.0015**2 / 4
    assert found["m"] == pytest.approx(BRONZE.density * area * 0.250 + 2 * FITTING, rel=1e-12)
    assert found["k"] == pytest.approx(1 / (0.250 / (BRONZE.e * area) + 2 / 6e4), rel=1e-12)
    assert "euler_load" not in found


def test_what_was_measured_takes_the_place_of_the_sizes(make_train):
    found = level_rod(make_train, stiffness="21 N/mm", mass="7.5 g")
    assert (found["k"], found["m"]) == pytest.approx((21e3, 0.0075), rel=1e-12)


def test_lost_motion_and_damping(make_train):
    found = level_rod(make_train, lost_motion="0.4 mm", damping=2.5)
    assert (found["slack"], found["alpha"]) == pytest.approx((0.0004, 2.5), rel=1e-12)


@pytest.mark.parametrize(("shape", "width", "thickness"), [("lying", "10 mm", "3 mm"), ("standing", "3 mm", "10 mm")])
def test_a_sticker_buckles_about_its_weaker_axis(shape, width, thickness):
    train = swapped({"t1": "sticker"}, **{"t1.width": width, "t1.thickness": thickness})
    second = 0.010 * 0.003**3 / 12
    load = pi**2 * CEDAR.axial * second / 0.600**2
    assert figures(train, "t1")["euler_load"] == pytest.approx(load, rel=1e-12), shape


# -- guides ----------------------------------------------------------------------------------------------
BENT = {"guides.breakaway": "0.05 N", "guides.angle": "12 deg", "guides.coefficient": 0.3}
WEIGHT = (CEDAR.density * STRIP * 1.8 + 2 * FITTING) * G


def test_guides(make_train):
    # The level rod lies in its guides with all of its weight.
    found = level_rod(make_train, **BENT)
    assert found["F_weight"] == pytest.approx(0.3 * WEIGHT, rel=1e-12)
    assert found["F0"] == pytest.approx(0.05 + 0.3 * WEIGHT, rel=1e-12)
    assert found["mu_bend"] == pytest.approx(12 * pi / 180 * 0.3, rel=1e-12)
    assert found["reach"] == 2e-5
    assert {"F0", "F_weight", "mu_bend", "reach"}.isdisjoint(level_rod(make_train))


@pytest.mark.parametrize("moves", ["down", "up"])
def test_guides_carry_the_weight_of_a_level_rod_only(make_train, moves):
    found = level_rod(make_train, moves=moves, **BENT)
    assert (found["F0"], found["F_weight"]) == (pytest.approx(0.05), 0.0)


def test_a_rod_of_nine_metres_in_its_guides(make_train):
    # By hand: a tube 8 x 0.7 mm of aluminium, 2700 kg/m3, weighs 391 gf over 9 m, a strip of cedar 39 gf: at 0.2 the
    # one rubs with 78 gf and the other with 8.
    tube = {"material": "aluminium", "section": "tube", "diameter": "8 mm", "wall": "0.7 mm"}
    metal = level_rod(make_train, length="9 m", **{"guides.coefficient": 0.2}, **tube)
    wood = level_rod(make_train, length="9 m", **{"guides.coefficient": 0.2})
    area = pi * (0.008**2 - 0.0066**2) / 4
    assert metal["F0"] == pytest.approx(0.2 * (2700 * area * 9 + 2 * FITTING) * G, rel=1e-3)
    assert metal["F0"] / G == pytest.approx(0.078, abs=0.001)
    assert wood["F0"] / G == pytest.approx(0.2 * (CEDAR.density * STRIP * 9 + 2 * FITTING), rel=1e-12)
    assert metal["mu_bend"] == wood["mu_bend"] == 0.0


def test_a_measured_weight_lies_in_the_guides_as_well(make_train):
    # By hand: 120 g at 0.2 are 24 gf.
    found = level_rod(make_train, mass="120 g", stiffness="20 N/mm", **{"guides.coefficient": 0.2})
    assert found["F0"] / G == pytest.approx(0.024, rel=1e-12)


def test_the_coefficient_that_a_case_leaves_out_is_told_with_its_source(make_train):
    train = make_train(**{"t2.guides.breakaway": "0.05 N"})
    derived = train.part("t2").values.derived
    cloth = train.part("t2").values.library.get("cloth-on-pin")["coefficient"]
    assert derived["F0"].value == pytest.approx(0.05 + cloth.value * WEIGHT, rel=1e-12)
    assert derived["mu_guides"].origin == f"default: cloth-on-pin: {cloth.source}"
    assert derived["F0"].origin == "break-away and weight x coefficient"


def test_guides_rub_with_their_break_away_the_weight_and_a_share_of_the_pull(make_train):
    train = make_train(**{f"t2.{name}": value for name, value in BENT.items()})
    system = train.system()
    # The friction that the second square feels at full slip, at its arm of 50 mm.
    slip = next(row.symbol for row in system.states if row.name == "u_t2")
    pull = next(one.symbol for one in system.definitions if one.symbol.name == "F_t2")
    (force,) = [one.expr for one in system.definitions if one.symbol.name == "G_sq2"]
    by_slip = at_rest(train, force.diff(slip).subs(pull, 8.0))
    assert by_slip == pytest.approx(-0.050 * (0.05 + 0.3 * WEIGHT + 12 * pi / 180 * 0.3 * 8.0), rel=1e-9)


# -- bending ---------------------------------------------------------------------------------------------
@pytest.mark.parametrize(("lies", "deep", "wide"), [(None, 0.0012, 0.010), ("flat", 0.0012, 0.010),
                                                    ("on-edge", 0.010, 0.0012)])  # fmt: skip
def test_a_strip_sags_about_the_axis_on_which_it_lies_and_whips_about_the_weaker(make_train, lies, deep, wide):
    found = level_rod(make_train, **({"lies": lies} if lies else {}))
    assert found["EI_sag"] == pytest.approx(CEDAR.axial * wide * deep**3 / 12, rel=1e-12)
    assert found["EI"] == pytest.approx(CEDAR.axial * 0.010 * 0.0012**3 / 12, rel=1e-12)


def test_of_a_composite_its_modulus_in_bending_bends_it_and_of_a_metal_the_only_one(make_train):
    second, round_rod = pi * 0.002**4 / 64, {"section": "round", "diameter": "2 mm"}
    for material, modulus in (("carbon-rod", 127e9), ("aluminium", 69e9)):
        found = level_rod(make_train, material=material, **round_rod)
        assert found["EI"] == pytest.approx(modulus * second, rel=1e-9), material


def test_a_slender_rod_bends_as_key_and_levers_do_less_their_shear(make_train):
    # One rule for wood: the modulus along the grain, and shear apart where a bar is short.
    found = level_rod(make_train, width="15 mm", thickness="6 mm", lies="on-edge", material="sugar-maple")
    give = figures(make_train(**{"sq1.bending": True}), "sq1")["give_in"]
    shear = 0.050 / (MAPLE.g * 0.015 * 0.006 * 5 / 6)
    assert give - shear == pytest.approx(0.050**3 / (3 * found["EI_sag"]), rel=1e-9)


def test_only_a_level_rod_sags(make_train):
    assert "EI_sag" not in level_rod(make_train, moves="down", lies="on-edge")


# -- in pieces -------------------------------------------------------------------------------------------
@pytest.mark.parametrize("pieces", [1, 2, 3, 8, 20])
def test_in_pieces_it_gives_and_weighs_as_much_as_whole(make_train, pieces):
    whole, found = level_rod(make_train), level_rod(make_train, pieces=pieces)
    own = CEDAR.axial * STRIP / 1.8
    assert found["k_piece"] == pytest.approx(own * pieces, rel=1e-12)
    # From one body to the other: an end and half a piece, the pieces between the masses, half a piece and an end.
    ends = 1 / END + 0.5 / (own * pieces)
    assert 1 / found["k"] == pytest.approx(ends, rel=1e-12)
    assert 2 / found["k"] + (pieces - 1) / found["k_piece"] == pytest.approx(
        1.8 / (CEDAR.axial * STRIP) + 2 / END, rel=1e-12
    )
    assert 2 / found["k"] + (pieces - 1) / found["k_piece"] == pytest.approx(1 / whole["k"], rel=1e-12)
    assert found["m"] == pytest.approx(CEDAR.density * STRIP * 1.8 + 2 * FITTING, rel=1e-12)


@pytest.mark.parametrize("pieces", [1, 4, 20])
def test_loss_inside_a_rod_in_pieces(make_train, pieces):
    # 1 % of critical of one piece of wood on its own stiffness, 2 z sqrt(k m).
    found = level_rod(make_train, pieces=pieces)
    mass, stiffness = CEDAR.density * STRIP * 1.8 / pieces, CEDAR.axial * STRIP / 1.8 * pieces
    assert found["c_piece"] == pytest.approx(2 * 0.01 * sqrt(mass * stiffness), rel=1e-12)


# -- in the equations ------------------------------------------------------------------------------------
def test_whole_its_mass_rides_on_both_bodies(make_train):
    train = make_train()
    second, third = (CEDAR.density * STRIP * length + 2 * FITTING for length in (1.8, 1.2))
    own = figures(train, "sq2")["J"]
    assert carried_inertia(train, "sq2") == pytest.approx(own + (second + third) / 2 * 0.050**2, rel=1e-12)


def test_in_pieces_its_mass_rides_on_no_body(make_train):
    train = make_train(**{"t2.pieces": 4})
    first, second, third = (CEDAR.density * STRIP * length + 2 * FITTING for length in (0.6, 1.8, 1.2))
    assert carried_inertia(train, "sq1") == pytest.approx(figures(train, "sq1")["J"] + first / 2 * 0.050**2, rel=1e-12)
    assert carried_inertia(train, "sq2") == pytest.approx(figures(train, "sq2")["J"] + third / 2 * 0.050**2, rel=1e-12)
    assert [carried_inertia(train, f"t2-{i}") for i in (1, 2, 3, 4)] == pytest.approx([second / 4] * 4, rel=1e-12)


@pytest.mark.parametrize(("moves", "helps"), [("down", 1), ("level", 0), ("up", -1)])
def test_which_way_it_moves_is_how_its_weight_acts(make_train, moves, helps):
    whole, pieces = make_train(**{"t1.moves": moves}), make_train(**{"t1.moves": moves, "t1.pieces": 2})
    mass = CEDAR.density * STRIP * 0.600 + 2 * FITTING
    assert figures(whole, "t1")["down"] == helps
    assert rods_weight_on(whole, "key") == pytest.approx(helps * mass / 2 * 9.80665 * 0.150, rel=1e-12, abs=1e-15)
    assert rods_weight_on(pieces, "key") == 0.0
    assert rods_weight_on(pieces, "t1-1") == pytest.approx(helps * mass / 2 * 9.80665, rel=1e-12, abs=1e-15)


# -- splayed ---------------------------------------------------------------------------------------------
SLANT = 20 * pi / 180
SPLAYED = {"splay": "20 deg"}


@pytest.mark.parametrize("fields", [{}, BENT, {"pieces": 3}, {"stiffness": "21 N/mm"}])
def test_no_splay_is_a_straight_rod_to_the_last_figure(make_train, fields):
    given = {f"t2.{name}": value for name, value in fields.items()}
    straight, none = make_train(**given), make_train(**given, **{"t2.splay": "0 deg"})
    assert {name: one.value for name, one in straight.parameters.items()} == {
        name: one.value for name, one in none.parameters.items()
    }
    assert figures(straight, "t2") == figures(none, "t2")


@pytest.mark.parametrize("fields", [{}, {"stiffness": "21 N/mm"}, {"section": "square", "width": "5 mm"}])
def test_splayed_it_gives_more_along_its_levers_way(make_train, fields):
    # Under 1 N along the way its pull is 1/cos, it grows by that over k, and 1/cos of its growth is the way.
    straight, found = level_rod(make_train, **fields), level_rod(make_train, **fields, **SPLAYED)
    assert 1 / found["k"] == pytest.approx(1 / straight["k"] / cos(SLANT) ** 2, rel=1e-12)
    assert found["cos_splay"] == pytest.approx(cos(SLANT), rel=1e-12)
    assert "cos_splay" not in straight
    # T = k e (1 + a e') with both stretches cos of the way: k cos² x (1 + a cos x').
    assert found["alpha"] == pytest.approx(straight["alpha"] * cos(SLANT), rel=1e-12)
    assert found["m"] == straight["m"]
    assert found["slack"] == straight["slack"]


@pytest.mark.parametrize("pieces", [1, 4])
def test_splayed_in_pieces_it_gives_as_much_as_whole(make_train, pieces):
    whole, found = level_rod(make_train, **SPLAYED), level_rod(make_train, pieces=pieces, **SPLAYED)
    gives = 1 / found["k"] + 1 / found["k_far"] + (pieces - 1) / found["k_piece"]
    assert gives == pytest.approx(1 / whole["k"], rel=1e-12)


def test_what_bends_under_a_splayed_rod_is_not_splayed(make_train):
    # Its own give is along the slant; its squares bend as under a straight rod of the same force along the way.
    bent = {f"{name}.bending": True for name in ("sq1", "sq2")}
    stiff, found = make_train(**{"t2.splay": "20 deg"}), make_train(**{"t2.splay": "20 deg"}, **bent)
    gives = figures(found, "sq1")["give_out"] + figures(found, "sq2")["give_in"]
    assert 1 / figures(found, "t2")["k"] == pytest.approx(1 / figures(stiff, "t2")["k"] + gives, rel=1e-12)


def test_guides_of_a_splayed_rod_hold_its_side_pull(make_train):
    found = level_rod(make_train, **BENT, **SPLAYED)
    # Bends of 12° under its own pull of 1/cos; at either end the side pull of tan.
    assert found["mu_bend"] == pytest.approx(0.3 * (12 * pi / 180 / cos(SLANT) + 2 * tan(SLANT)), rel=1e-12)
    assert found["F0"] == level_rod(make_train, **BENT)["F0"]


def test_a_splayed_sticker_buckles_under_less_force_along_its_way():
    straight, found = (swapped({"t1": "sticker"}, **more) for more in ({}, {"t1.splay": "20 deg"}))
    load = figures(straight, "t1")["euler_load"] * cos(SLANT)  # its push is 1/cos of that force
    assert figures(found, "t1")["euler_load"] == pytest.approx(load, rel=1e-12)


def test_more_splay_than_a_radian_is_refused_and_much_is_remarked_on():
    (field,) = [one for one in PARTS["tracker"].fields if one.name == "splay"]
    assert (field.low, field.high, field.usual, field.default) == (0.0, 1.0, (0.0, 0.35), 0.0)
    assert {part for part, one in PARTS.items() if any(f.name == "splay" for f in one.fields)} == {
        "tracker",
        "sticker",
        "pull-down",
    }
