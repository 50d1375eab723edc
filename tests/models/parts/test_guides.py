"""Guides as stations: what rubs at each, the spans between them, and what cannot be."""

import math

import pytest
from by_hand import CEDAR, G, figures

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.cases.text.find import find_case
from keyaction.models.materials.library import default_library
from keyaction.models.parts import guides
from keyaction.models.train.train import TrainProblem

LIBRARY = default_library()
LENGTH = 1.8
WEIGHT = (CEDAR.density * 0.010 * 0.0012 * LENGTH + 2 * 0.0005) * G
CLOTH, LEATHER = (LIBRARY.get(name)["coefficient"].value for name in ("cloth-on-pin", "leather-on-pin"))


def placed(*rows, **fields):
    """Overrides that give the level rod stations."""
    told = {f"t2.guides.stations.{i}.{what}": one for i, row in enumerate(rows) for what, one in row.items()}
    return told | {f"t2.{name}": value for name, value in fields.items()}


def level(make_train, *rows, **fields):
    return figures(make_train(**placed(*rows, **fields)), "t2")


def test_bends_one_after_the_other_rub_as_round_capstans(make_train):
    # Euler's capstan: what draws at one station by exp(mu angle) is drawn at by the next.
    bends = ((300, 5, "cloth-on-pin"), (700, 12, "leather-on-pin"), (1200, 3, "cloth-on-pin"))
    rows = [{"at": f"{i} mm", "angle": f"{bend} deg", "lining": lining} for i, bend, lining in bends]
    pull = 1.0
    for bend, mu in ((5, CLOTH), (12, LEATHER), (3, CLOTH)):
        pull *= math.exp(mu * math.radians(bend))
    assert level(make_train, *rows)["mu_bend"] == pytest.approx(pull - 1, rel=1e-12)


def test_small_bends_add_up_to_the_law_of_their_sum(make_train):
    rows = [{"at": f"{300 * i} mm", "angle": "0.01 deg"} for i in (1, 2, 3, 4)]
    together = level(make_train, **{"guides.angle": "0.04 deg", "guides.coefficient": 0.3})["mu_bend"]
    assert level(make_train, *rows, **{"guides.coefficient": 0.3})["mu_bend"] == pytest.approx(together, rel=2e-4)


def test_the_splay_beside_them_adds_to_theirs(make_train):
    row = {"at": "900 mm", "angle": "2 deg"}
    found = level(make_train, row, **{"guides.coefficient": 0.2, "guides.angle": "3 deg", "guides.breakaway": "0.1 N"})
    assert found["mu_bend"] == pytest.approx(0.2 * math.radians(3) + math.expm1(0.2 * math.radians(2)), rel=1e-12)
    assert found["F0"] == pytest.approx(0.1 + 0.2 * WEIGHT, rel=1e-12)


def test_without_stations_the_law_is_what_it_was_to_the_last_figure(make_train):
    found = level(make_train, **{"guides.coefficient": 0.3, "guides.angle": 0.2})
    assert found["mu_bend"] == 0.2 * 0.3
    assert found["F0"] == 0.3 * (G * figures(make_train(), "t2")["m"])
    assert "longest_span" not in found


def test_a_level_rods_weight_lies_on_each_station_by_the_spans_beside_it(make_train):
    # Leather in the middle of 1.8 m carries half of 700 + 900 mm, the cloth at 200 mm half of 200 + 700 mm.
    rows = [{"at": "200 mm", "lining": "cloth-on-pin"}, {"at": "900 mm", "lining": "leather-on-pin"}]
    mean = (0.45 * CLOTH + 0.8 * LEATHER) / 1.25
    assert level(make_train, *rows)["F_weight"] == pytest.approx(mean * WEIGHT, rel=1e-12)
    assert level(make_train, *rows, moves="down")["F0"] == 0.0


def test_a_lining_goes_before_the_coefficient_and_this_before_cloth(make_train):
    lined = {"at": "900 mm", "lining": "leather-on-pin"}
    assert level(make_train, lined, **{"guides.coefficient": 0.1})["mu_guides"] == LEATHER
    assert level(make_train, {"at": "900 mm"}, **{"guides.coefficient": 0.1})["mu_guides"] == 0.1
    assert level(make_train, {"at": "900 mm"})["mu_guides"] == CLOTH


def test_spans_lie_between_the_stations_in_whatever_order_they_are_given(make_train):
    train = make_train(**placed({"at": "1500 mm"}, {"at": "400 mm"}, {"at": "1000 mm"}))
    found = guides.spans_of(train.part("t2").values)
    assert found == pytest.approx((0.4, 0.6, 0.5, 0.3))
    assert figures(train, "t2")["longest_span"] == pytest.approx(0.6)


def test_play_at_a_bend_costs_way_as_the_pull_draws_the_rod_to_its_inner_side(make_train):
    # By hand: from the outer side of a hole to the inner one, 2 x 0.5 mm, at a bend of 6 deg, saves 2 x 0.5 mm x 6 deg.
    found = level(make_train, {"at": "900 mm", "play": "0.5 mm", "angle": "6 deg"}, {"at": "1200 mm", "play": "3 mm"})
    assert found["play_lost"] == pytest.approx(1e-3 * math.radians(6), rel=1e-12)
    # Geometry: two straight spans of 900 mm that meet at 6 deg, the corner moved by 1 mm along its bisector.
    leg, half = 0.9, math.radians(3)
    corner = (0.0, leg * math.sin(half))

    def whole(y):
        return sum(math.hypot(leg * math.cos(half), y) for _ in range(2))

    assert whole(corner[1]) - whole(corner[1] - 1e-3) == pytest.approx(found["play_lost"], rel=0.02)


# -- what cannot be --------------------------------------------------------------------------------------
BAD = """guides = { stations = [{ at = "1900 mm" }, { at = "500 mm" }, { at = "502 mm" }, { angle = "2 deg" }], \
keep_clear = [{ from = "480 mm", to = "501 mm" }, { from = "1 m", to = "0.9 m" }, { to = "1 m" }] }"""


def refused(tmp_path, fields):
    text = find_case("demo-wood").read_text(encoding="utf-8")
    (tmp_path / "bad.toml").write_text(text.replace('name = "level-tracker"', f'name = "level-tracker"\n{fields}'),
                                       encoding="utf-8")  # fmt: skip
    (tmp_path / "demo-chest.csv").write_bytes(find_case("demo-wood").with_name("demo-chest.csv").read_bytes())
    with pytest.raises(TrainProblem) as problem:
        train_of(read_case(tmp_path / "bad.toml"), 60)
    return list(problem.value.defects)


def test_every_guide_that_cannot_stand_is_named_at_once(tmp_path):
    assert refused(tmp_path, BAD) == [
        "level-tracker, field guides.stations.3.at: missing",
        "level-tracker, field guides.keep_clear.1.to = 900 mm: ends before it begins; allowed: above 1000 mm",
        "level-tracker, field guides.keep_clear.2.from: missing",
        "level-tracker, field guides.stations.0.at = 1900 mm: the guide is outside the rod; allowed: above 0 mm, below "
        "1800 mm",
        "level-tracker, field guides.stations.2.at = 502 mm: at the place of guides.stations.1.at = 500 mm; allowed: "
        "5 mm or more apart",
    ]


def test_a_guide_where_none_can_stand_is_warned_of(make_train):
    post = {"guides.keep_clear.0.from": "480 mm", "guides.keep_clear.0.to": "520 mm"}
    train = make_train(**placed({"at": "500 mm"}, {"at": "520 mm"}, **post))
    assert [(warned.field, warned.brief) for warned in train.warnings] == [
        ("guides.stations.0.at", "where no guide can stand (keep_clear)")
    ]


def test_too_many_are_counted(tmp_path):
    many = ", ".join(f'{{ at = "{20 * i} mm" }}' for i in range(1, 62))
    assert refused(tmp_path, f"guides = {{ stations = [{many}] }}") == [
        "level-tracker, field guides.stations: 61 guides on one rod; allowed: up to 60"
    ]


def test_side_motion_says_all_that_it_lacks(tmp_path):
    fields = 'side_motion = true\npieces = 2\nslap = { squeeze = "1 mm" }'
    assert refused(tmp_path, fields) == [
        "level-tracker, field side_motion: of a rod in one piece; allowed: pieces = 0",
        "level-tracker, field slap.play: missing",
        "level-tracker, field slap: give material, thickness and area, or else squeeze and force",
    ]


def test_a_span_that_hangs_through_too_far_is_refused(tmp_path):
    (told,) = refused(tmp_path, "side_motion = true")
    assert told == (
        "level-tracker, field side_motion: its span of 1800 mm hangs through by 474 mm when it is slack; allowed: a "
        "tenth of the span (guides stand nearer)"
    )


def test_what_belongs_to_side_motion_alone_is_remarked_on_without_it(make_train):
    train = make_train(**{"t2.slap.play": "2 mm", "t2.bow": "1 mm"})
    assert [warned.field for warned in train.warnings] == ["bow", "slap.play"]


# -- the arch, by hand -----------------------------------------------------------------------------------
def test_the_arch_by_hand(make_train):
    found = level(make_train, {"at": "600 mm"}, {"at": "1100 mm"}, side_motion=True, side_loss=0.05)
    line, bending, span = CEDAR.density * 0.010 * 0.0012, CEDAR.axial * 0.010 * 0.0012**3 / 12, 0.7
    assert found["side_span"] == pytest.approx(span)
    assert found["m_quick"] + found["m_slow"] == pytest.approx(line * span / 2, rel=1e-12)
    assert found["k_side"] == pytest.approx(math.pi**4 * bending / (2 * span**3), rel=1e-12)
    assert found["W_side"] == pytest.approx(2 / math.pi * line * span * G, rel=1e-12)
    assert found["y_side"] == pytest.approx(4 * line * G * span**4 / (math.pi**5 * bending), rel=1e-12)
    assert found["n_side"] == pytest.approx(math.pi**2 / (4 * span), rel=1e-12)
    assert found["side_slack"] == pytest.approx(math.pi / 2 / span**2 * math.sqrt(bending / line), rel=1e-12)
    critical = 2 * math.sqrt(found["k_side"] * line * span / 2)
    assert found["c_side"] == pytest.approx(0.05 * critical, rel=1e-12)


@pytest.mark.parametrize(
    ("fields", "bow"),
    [({"moves": "down"}, 1.8 / 500), ({"moves": "down", "bow": "2 mm"}, 2e-3), ({"lies": "on-edge"}, 1.8 / 500)],
)
def test_a_rod_that_its_weight_does_not_bow_is_crooked(make_train, fields, bow):
    found = level(make_train, side_motion=True, **fields)
    assert (found["W_side"], found["y_side"], found["bent_side"]) == pytest.approx((0.0, bow, 0.0))


def test_a_rod_that_would_hang_beyond_its_comb_lies_on_it(make_train):
    rows = [{"at": f"{600 * i} mm"} for i in (1, 2)]
    soft = {"slap.squeeze": "0.3 mm", "slap.force": "0.02 N"}
    free = level(make_train, *rows, side_motion=True)["y_side"]
    found = level(make_train, *rows, side_motion=True, **{"slap.play": "3 mm", **soft})
    assert 3e-3 < found["y_side"] < free
    pushes = found["K_slap"] * (found["y_side"] - 3e-3) ** 1.5
    assert found["k_side"] * found["bent_side"] + pushes == pytest.approx(found["W_side"], rel=1e-9)
    assert level(make_train, *rows, side_motion=True, **{"slap.play": "30 mm", **soft})["y_side"] == free


def test_bends_beyond_what_the_law_holds_for_are_told():
    def warned(bends):
        case = read_case("demo-wood", set_={"level-tracker.guides.angle": bends})
        return [one.text for one in train_of(case, "C4").warnings if "the bends of its guides together" in one.text]

    assert warned("29 deg") == []
    assert len(warned("31 deg")) == 1
