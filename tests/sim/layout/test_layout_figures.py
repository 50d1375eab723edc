"""What the way to the side costs: twist and mass of a roller by hand, orders of the chest side by side."""

import math

import pytest
from laid_case import laid as laid_case

from keyaction.cases.action.reader import read_case
from keyaction.models.instrument.orders import ORDERS
from keyaction.sim.figures.sketch import rigid
from keyaction.sim.layout.figures import NoLayout, lay, layout_of
from keyaction.sim.layout.orders import compare_orders, with_order
from keyaction.sim.layout.sheet import notes_sheet, path_sheet, touch_sheet


@pytest.fixture(scope="module")
def case(tmp_path_factory):
    return laid_case(tmp_path_factory.mktemp("laid"))


@pytest.fixture(scope="module")
def laid(case):
    return lay(case, case.compass[::6])


def test_the_twist_is_the_torque_at_the_pluck_over_g_j_by_l(laid):
    for one in laid:
        pressed, roller = one.standing.pressed, one.standing.train.part("roller")
        pull = pressed.at_pluck("force_pull-down")
        by_hand = pull * roller.values.number("out_arm") / roller.figure("K")
        assert one.twist == pytest.approx(by_hand, rel=0.1)  # and what its far pin's friction takes
        arm, way = roller.values.number("in_arm"), rigid(one.standing.train).way("drop")
        shaft = next(link.element for link in pressed.kinematics.links if link.kind == "twist")
        rise = one.twist - float(pressed.press.down[shaft.stretch][0])
        assert one.lost == pytest.approx(rise * arm / way, rel=0.02)  # arms turn a little out of square


def test_the_sag_is_that_of_a_bar_on_two_supports_under_both_pulls_and_its_weight(laid):
    """By superposition of tabulated cases, in another way than the shaft's own brackets."""
    for one in laid:
        roller, pressed = one.standing.train.part("roller").values, one.standing.pressed
        inset, length, side = 0.015, roller.number("length"), roller.number("width")
        span, stiff = length + 2 * inset, 1.1 * roller.of("material", "E") * side**4 / 12
        loads = ((pressed.at_pluck("force_drop"), inset), (-pressed.at_pluck("force_pull-down"), span - inset))
        weight = roller.of("material", "density") * side**2 * 9.80665

        def down(x, loads=loads, span=span, stiff=stiff, weight=weight):
            found = weight * x * (span**3 - 2 * span * x**2 + x**3) / (24 * stiff)
            for load, a in loads:
                b, at = (span - a, x) if x <= a else (a, span - x)
                found += load * b * at * (span**2 - b**2 - at**2) / (6 * span * stiff)
            return found

        most = max(abs(down(span * i / 2000)) for i in range(2001))
        assert one.sag == pytest.approx(most, rel=1e-5)


def test_a_longer_roller_twists_and_weighs_more(laid):
    by_length = sorted(laid, key=lambda one: abs(one.place.sideways))
    carried = [one.carried for one in by_length]
    assert carried == sorted(carried)
    assert by_length[-1].twist > by_length[0].twist
    for one in laid:
        assert one.mass == pytest.approx(sum(rigid(one.standing.train).masses.values()))


def test_a_case_without_layout():
    with pytest.raises(NoLayout, match=r"demo-wood\.toml: says nothing of where keys and pallets stand"):
        layout_of(read_case("demo-wood"))


def test_orders_side_by_side(case):
    told = []
    found = compare_orders(case, list(ORDERS), case.compass[:2], done=told.append)
    assert told == list(ORDERS)
    for one in found:
        assert one.problem == ""
        assert one.rows >= one.least
        assert one.height == pytest.approx(one.rows * layout_of(case).board.sizes.row)
        assert one.lightest <= one.heaviest
    by_order = {one.order: one for one in found}
    other = with_order(case, "two-sides", by_order["two-sides"].aside)
    lengths = [roller.length for roller in layout_of(other).board.rollers.values()]
    assert by_order["two-sides"].total == pytest.approx(sum(lengths))
    assert by_order["two-sides"].longest == pytest.approx(max(lengths))
    assert by_order["chromatic"].total == min(one.total for one in found)  # every pallet as near its key as can be


def test_an_order_that_cannot_be_is_told_and_the_others_are_there(case, monkeypatch):
    monkeypatch.setattr("keyaction.sim.layout.orders.ASIDE", ())
    tight = with_order(case, layout_of(case).order)
    found = compare_orders(tight, [*ORDERS], case.compass[:1])
    sheet = touch_sheet(found, "trade", layout_of(case).order)
    stuck = [one.order for one in found if one.problem]
    assert stuck, "no order holds its rollers fast: choose other places"
    assert [line.split(": ")[:2] for line in sheet.lines] == [[order, "cannot be built"] for order in stuck]
    assert all(math.isfinite(one.total) for one in found if not one.problem)


def test_sheets_hold_the_places(case, laid):
    sheet = notes_sheet(laid, "scientific", "trade")
    assert [column.title for column in sheet.columns][:4] == ["note", "key (mm)", "pallet (mm)", "way (mm)"]
    for row, one in zip(sheet.rows, laid, strict=True):
        assert row[3] == pytest.approx(row[2] - row[1])
        assert row[1] == pytest.approx(1e3 * one.place.key)
    rods = path_sheet(layout_of(case).paths[60], "scientific", "si")
    figures = layout_of(case).figures
    assert [(row[0], pytest.approx(row[2])) for row in rods.rows] == [
        (name, figures[f"{name}.length"][60]) for name in ("riser", "level-tracker", "drop", "pull-down")
    ]
    splays = [math.degrees(figures[f"{row[0]}.splay"][60]) for row in rods.rows]
    assert [row[4] for row in rods.rows] == pytest.approx(splays)


def test_rods_of_slanting_levers_run_straight():
    """Nothing pulls across there; only the arms are longer than seen: C3's 250 mm over 87.4 mm aside in two arms."""
    levers = lay(read_case("mixed-treble"), [48])
    sheet = notes_sheet(levers, "scientific", "trade")
    assert [column.heading for column in sheet.columns][4:6] == ["splay", "times"]
    assert "side" not in [column.heading for column in sheet.columns]
    assert sheet.rows[0][5] == pytest.approx(math.hypot(500, 87.4) / 500, rel=1e-4)
    rods = lay(read_case("fan-trackers"), [60])
    headings = [column.heading for column in notes_sheet(rods, "scientific", "trade").columns]
    assert headings[4:7] == ["splay", "times", "side"]
    assert notes_sheet(rods, "scientific", "trade").rows[0][6] == pytest.approx(math.tan(rods[0].splay))
