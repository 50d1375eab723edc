"""What members and their own growth do to rods: cancelling, cosines, stickers, hooks, squares; and rods of a train."""

import math
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from keyaction.cases.action.reader import read_case
from keyaction.models.frame.changes import RunRod, shift_of
from keyaction.models.frame.member import VECTORS, Member
from keyaction.models.frame.rods import run_change, run_rods
from keyaction.models.frame.strain import strain
from keyaction.models.materials.library import default_library
from keyaction.models.train.train import build_train

LIBRARY = default_library()
SITKA, CARBON = LIBRARY.get("sitka-spruce"), LIBRARY.get("carbon-rod")
BEHIND = Path(str(files("keyaction.cases") / "demo-instrument" / "behind.toml"))
NOTE, AT = 60, (293.15, 0.09)
AIR, WET = np.array([293.15, 293.15, 303.15]), np.array([0.09, 0.06, 0.12])


def rod(material=SITKA, along=VECTORS["up"], length=2.0, pushes=False, name="riser", before="key", behind="roller"):
    return RunRod(name, before, behind, along, length, material, 1.2e-3, pushes)


def post(length=2.0, towards="up", carries=("roller",), name="post"):
    return Member(name, SITKA, {NOTE: length}, towards, "along", carries=tuple(carries), thickness=0.05)


def changed(members, rods, growth=None):
    wood = strain(SITKA, "along", AIR, WET, AT)
    own = {one.name: strain(one.material, "along", AIR, WET, AT) for one in rods if one.material}
    return run_change(members, rods, NOTE, growth or {one.name: wood for one in members}, own)


def test_a_post_of_the_rods_own_wood_beside_it_cancels_exactly():
    assert np.all(changed([post()], [rod()]).tighter == 0.0)


def test_beside_a_carbon_rod_the_post_does_not():
    found = changed([post()], [rod(CARBON)]).tighter[0]
    # 3 % less moisture: 2 m x 0.0015 x 3/30 = 0.3 mm that the post sinks, and the rod stays as long: slacker by that.
    assert found[:2] == pytest.approx([0.0, -0.3e-3], rel=1e-9)
    assert found[2] > 0.3e-3 > 0


def test_a_rod_alone_is_drawn_tighter_as_it_dries():
    assert changed([], [rod()]).tighter[0, 1] == pytest.approx(0.3e-3, rel=1e-9)
    assert np.all(changed([], [rod(None)]).tighter == 0.0)


def test_without_coefficients_nothing_moves():
    still = np.zeros(3)
    found = run_change(
        [post(), post(0.05, carries=["key"], name="frame")], [rod()], NOTE, {"post": still, "frame": still}, {}
    )
    assert np.all(found.tighter == 0.0)
    assert np.all(found.surface == 0.0)


def test_of_a_splayed_rod_the_cosine_of_the_way_counts():
    slant = math.radians(25)
    across = (math.sin(slant), 0.0, math.cos(slant))
    growth = {"post": np.array([0.0, 1e-3])}
    straight, splayed = (
        run_change([post()], [rod(None, along)], NOTE, growth, {}).tighter[0, 1] for along in (VECTORS["up"], across)
    )
    assert splayed == pytest.approx(straight * math.cos(slant), rel=1e-12)


def test_a_sticker_is_drawn_tighter_as_its_ends_come_nearer_and_as_it_grows():
    growth, own = {"post": np.array([0.0, 1e-3])}, {"riser": np.array([0.0, 2e-3])}
    pulled, pushed = (
        run_change([post()], [rod(pushes=pushes)], NOTE, growth, own).tighter[0, 1] for pushes in (False, True)
    )
    assert pulled == pytest.approx(2e-3 - 4e-3)
    assert pushed == -pulled


def test_who_carries_the_near_end_slackens_what_who_carries_the_far_one_tightens():
    growth = {"post": np.array([1e-3]), "frame": np.array([1e-3])}
    both = [post(), post(2.0, carries=["key"], name="frame")]
    assert run_change(both, [rod(None)], NOTE, growth, {}).tighter[0, 0] == pytest.approx(0.0)
    assert run_change(both[1:], [rod(None)], NOTE, growth, {}).tighter[0, 0] == pytest.approx(-2e-3)


def test_a_hook_moves_its_own_rod_alone():
    rods = [rod(None), rod(None, name="drop", before="roller", behind="pallet")]
    growth = {"post": np.array([1e-3])}
    ends = {
        end: run_change([post(carries=[end])], rods, NOTE, growth, {}).tighter[:, 0]
        for end in ("riser.start", "riser.end", "drop.start")
    }
    assert ends["riser.start"] == pytest.approx([-2e-3, 0])
    assert ends["riser.end"] == pytest.approx([2e-3, 0])
    assert ends["drop.start"] == pytest.approx([0, -2e-3])


def test_a_squares_pin_moves_both_its_rods_as_its_shift_says():
    riser = rod(None, VECTORS["down"], behind="square")
    level = rod(None, VECTORS["back"], name="level", before="square", behind="roller")
    for towards, vector in VECTORS.items():
        found = run_change(
            [post(1.0, towards, ["square"])], [riser, level], NOTE, {"post": np.array([1e-3])}, {}
        ).tighter[:, 0]
        assert found == pytest.approx([1e-3 * one for one in shift_of(vector, riser, level)])


def test_the_keys_own_wood_lifts_its_surface_alone():
    found = run_change([post(0.012, carries=["key.front"])], [rod(None)], NOTE, {"post": np.array([0.0, 1e-2])}, {})
    assert found.surface == pytest.approx([0.0, 0.12e-3])
    assert np.all(found.tighter == 0.0)


# -- rods of trains ----------------------------------------------------------------------------------------
def rods_of(name, note=None):
    case = read_case(name)
    note = note or case.compass[0]
    train = build_train(case.given(note), case.library)
    path = case.layout.paths.get(note) if case.layout else None
    branches = {one.name: one.after[0] for one in train.structure if one.after}
    return {one.name: one for one in run_rods(train.parts, path, branches)}, path, case


def test_a_layout_tells_how_rods_lie():
    rods, path, _ = rods_of(BEHIND)
    assert list(rods) == ["riser", "level-tracker", "riser-behind", "pull-down"]
    assert [(one.before, one.behind) for one in rods.values()] == [
        ("key", "floor-square"), ("floor-square", "back-square"), ("back-square", "roller"), ("roller", "pallet")
    ]  # fmt: skip
    for leg in path.legs:
        ends = np.array(leg.end) - np.array(leg.start)
        assert rods[leg.part].along == pytest.approx(ends / np.linalg.norm(ends))
        assert rods[leg.part].length == pytest.approx(leg.length)
    assert rods["riser"].along[2] == pytest.approx(-1)
    assert rods["level-tracker"].along[1] == pytest.approx(-1)
    assert (rods["riser"].thickness, rods["pull-down"].thickness) == pytest.approx((1.2e-3, 1.5e-3))


@pytest.mark.parametrize(
    ("name", "rod", "along"),
    [
        ("hung-rollers", 0, "up"),  # drawn down from above
        ("square-rails", 0, "down"),  # the tail draws it up
        ("sticker-backfall", 0, "up"),  # pushed up
        ("sticker-backfall", 1, "up"),  # drawn down
    ],
)
def test_moves_and_layout_agree_on_which_way_a_rod_leads(name, rod, along):
    laid, _, case = rods_of(name)
    train = build_train(case.given(case.compass[0]), case.library)
    told = run_rods(train.parts)[rod]
    assert told.along == VECTORS[along]
    assert np.dot(list(laid.values())[rod].along, told.along) > 0.9
    assert told.pushes is (name == "sticker-backfall" and rod == 0)


def test_a_rod_that_branches_off_leads_from_where_it_says():
    rods, _, _ = rods_of("two-pallets")
    assert len({one.before for one in rods.values()}) == 1
    assert len({one.behind for one in rods.values()}) == 2
