"""Torsion springs against worked examples, and their design from the wire in stock."""

import csv
import math
from dataclasses import replace

import pytest
from command_line import complaint, said

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains
from keyaction.models.formulas.springs import (
    IDEAL,
    RUBBING,
    TorsionSpring,
    active_turns,
    bending_stress,
    coil_rate,
    curvature_factor,
    v_spring_rate,
)
from keyaction.models.materials.library import default_library
from keyaction.models.materials.types import Material, Property, WireStrength
from keyaction.sim.springs.design import FEWEST, SpringProblem, Stock, Wanted, design, why_none
from keyaction.sim.springs.sheet import across, schedule
from keyaction.sim.springs.usual import YIELD

LIBRARY = default_library()
STEEL = LIBRARY.get("music-wire")


# -- published figures ---------------------------------------------------------------------------------------
def test_a_worked_example():
    # V. B. Bhandari, Design of Machine Elements, Ex. 10.21 (second-hand): D 18 mm, M 250 N mm, E 207 000 N/mm2,
    # k 3 N mm/rad, wire 1.6 mm: C 11.25, K_i 1.0710, 665.84 N/mm2, 392.53 coils.
    assert curvature_factor(11.25) == pytest.approx(1.0710, abs=5e-5)
    assert bending_stress(0.250, 1.6e-3, 18e-3) == pytest.approx(665.84e6, rel=1e-5)
    assert coil_rate(207e9, 1.6e-3, 18e-3, 392.53) == pytest.approx(3e-3, rel=1e-4)


def test_its_wire_is_the_thinnest_that_is_safe():
    # The same example: patented steel wire, yield 0.6 of the strength, factor of safety 2. The strength that the
    # stress of the 1.6 mm wire needs is 2219.5 N/mm2; thinner wire of that strength does not do.
    strength = WireStrength(1e-4, 1e-2, 2219.6, 0.0, "Ex. 10.21", "derived")
    wire = Material("patented", "metal", "", {"E": Property(207e9, "Pa", "Ex. 10.21", "second-hand")}, (strength,))
    leg = 0.1
    wanted = Wanted(0.250 / leg - 1e-6, 1e-6, 1.0)
    stock = Stock([(wire, [1.4e-3, 1.5e-3, 1.6e-3, 1.7e-3])], [18e-3], [leg], most_turns=1e9, safety=2.0)
    safe = {round(one.spring.wire * 1e3, 1) for one in design(wanted, stock) if "stress" not in one.reason}
    assert safe == {1.6, 1.7}


def test_the_factor_of_practice():
    # Shigley's 10.8 per turn is 67.858 per radian, 1.0603 times the ideal 64.
    assert pytest.approx(67.858, abs=5e-4) == RUBBING
    assert pytest.approx(1.0603, abs=5e-5) == RUBBING / IDEAL
    ideal, rubbing = (coil_rate(207e9, 1e-3, 20e-3, 3.0, factor) for factor in (IDEAL, RUBBING))
    assert ideal / rubbing == pytest.approx(67.858 / 64, rel=1e-5)


def test_legs_count_as_coils():
    # Shigley: N + (l1 + l2) / (3 pi D); in a V-spring that is the bending of both legs as cantilevers.
    assert active_turns(3.0, 0.015, 0.12, 0.12) == pytest.approx(3.0 + 0.24 / (3 * math.pi * 0.015), rel=1e-12)
    e, d, coil, turns, leg = 193e9, 1.5e-3, 15e-3, 3.0, 0.12
    with_legs = coil_rate(e, d, coil, active_turns(turns, coil, leg, leg)) / leg**2
    assert with_legs == pytest.approx(v_spring_rate(e, d, coil, turns, leg), rel=1e-12)


def test_the_trades_own_check():
    # Derived: 1.5 mm stainless, coil 15 mm, 3 turns, arms 120 mm: 1.8 N per radian at the arm's end.
    spring = TorsionSpring(LIBRARY.get("stainless"), 1.5e-3, 15e-3, 3.0, 0.12, 0.12)
    assert spring.shape == "V"
    assert 1.0 / spring.turn(1.0) == pytest.approx(1.8, abs=0.05)


@pytest.mark.parametrize(("wire", "force"), [(1.42e-3, 1.0), (1.22e-3, 0.54)])
def test_a_brass_spring_of_1882(wire, force):
    # W. E. Dickson, Practical Organ-Building, 2nd ed. 1882, p. 22-23: brass wire no. 17-18 (gauge from memory), arms
    # of about 5 in, one twist, gape 7-8 in in a chest 3 in deep; coil of 25 mm assumed, 120 mm of closing (derived).
    spring = TorsionSpring(LIBRARY.get("spring-brass"), wire, 0.025, 1.0, 0.127, 0.127)
    assert spring.rate * 0.120 == pytest.approx(force, rel=0.05)
    assert 0.4 < spring.rate * 0.120 < 1.3
    # Free, its legs' ends stand as far apart as the book says, wound up from a chest 3 in deep.
    closed = 2 * math.asin(0.0762 / (2 * 0.127))
    free = 2 * 0.127 * math.sin((closed + spring.turn(spring.rate * 0.120)) / 2)
    assert 7.0 < free / 0.0254 < 8.0


# -- closed forms --------------------------------------------------------------------------------------------
def test_a_coil_spring_with_a_held_leg():
    # Coils, working leg and held leg in series: l^2 (64 D N / E d^4) + l^3 / (3 E I) + l^2 h / (3 E I).
    spring = TorsionSpring(STEEL, 1.2e-3, 20e-3, 6.0, 0.11, 0.02)
    e, inertia = STEEL["E"].value, math.pi * 1.2e-3**4 / 64
    give = 0.11**2 * 64 * 20e-3 * 6 / (e * 1.2e-3**4) + 0.11**3 / (3 * e * inertia) + 0.11**2 * 0.02 / (3 * e * inertia)
    assert spring.shape == "coil"
    assert spring.rate == pytest.approx(1 / give, rel=1e-12)
    assert spring.wire_length == pytest.approx(math.pi * 0.02 * 6 + 0.13)


def test_stored_energy_is_the_work_of_winding_up():
    spring = TorsionSpring(STEEL, 1.2e-3, 20e-3, 6.0, 0.11, 0.11)
    force, way = 1.7, 1.7 / spring.rate
    assert spring.energy(force) == pytest.approx(force * way / 2, rel=1e-12)
    moment, turn = force * 0.11, spring.turn(force)
    assert spring.energy(force) == pytest.approx(moment * turn / 2, rel=1e-12)
    assert spring.stress(force) == pytest.approx(bending_stress(moment, 1.2e-3, 20e-3), rel=1e-12)


def test_curvature_vanishes_for_wide_coils():
    assert curvature_factor(1e6) == pytest.approx(1.0, abs=1e-5)
    assert curvature_factor(5.0) > curvature_factor(8.0) > 1.0


# -- design --------------------------------------------------------------------------------------------------
WIRES = [round(0.8e-3 + i * 1e-4, 5) for i in range(13)]
STOCK = Stock([(STEEL, WIRES), (LIBRARY.get("stainless"), WIRES)], [0.020, 0.025, 0.030], [0.11, 0.12, 0.13])


@pytest.mark.parametrize(("wire", "coil", "turns", "leg"), [(1.5e-3, 0.025, 3.5, 0.12), (1.8e-3, 0.030, 6.0, 0.11)])
def test_design_finds_a_spring_again(wire, coil, turns, leg):
    known = TorsionSpring(STEEL, wire, coil, turns, leg, leg)
    found = design(Wanted(1.8, known.rate, 0.004), STOCK)
    same = [one for one in found if one.spring == known]
    assert len(same) == 1 and same[0].reason == ""
    assert same[0].off == pytest.approx(0.0, abs=1e-12)
    assert same[0].opened == pytest.approx(1.8 + 0.004 * known.rate, rel=1e-12)
    assert same[0].share == pytest.approx(known.stress(same[0].opened) / STEEL.wire_strength(wire), rel=1e-12)


def test_what_is_offered_holds_what_is_promised():
    wanted = Wanted(2.0, 15.0, 0.004)
    assert wanted.opened == pytest.approx(2.06)
    found = design(wanted, STOCK)
    good = [one for one in found if not one.reason]
    assert good and found[: len(good)] == good
    assert [one.rank for one in good] == sorted(one.rank for one in good)
    for one in good:
        assert one.share <= YIELD and abs(one.off) <= STOCK.within
        assert one.spring.rate == pytest.approx(15.0, rel=STOCK.within)
        assert FEWEST <= one.spring.turns <= STOCK.most_turns and (2 * one.spring.turns).is_integer()
        assert one.free_angle <= math.pi and one.free_gape <= 2 * one.spring.leg
        assert one.energy == pytest.approx(one.opened**2 / (2 * one.spring.rate))


def test_the_fewest_coils_are_wound():
    good = [one for one in design(Wanted(2.0, 15.0, 0.004), STOCK) if not one.reason]
    assert len({one.spring.turns for one in good}) > 3
    assert good[0].spring.turns == min(one.spring.turns for one in good)
    same = [one for one in good if one.spring.turns == good[0].spring.turns]
    assert good[0].share + abs(good[0].off) * YIELD / STOCK.within == min(
        one.share + abs(one.off) * YIELD / STOCK.within for one in same
    )


def test_a_manuals_springs_are_as_shops_wind_them():
    # W. E. Dickson, Practical Organ-Building, 2nd ed. 1882, p. 22-23: one twist of brass wire no. 17-18 (1.42, 1.22 mm,
    # gauge from memory). Of stainless, half as stiff again, the demo's springs come out near: no 2 mm of 7 coils.
    case = read_case("demo-wood")
    trains = check_trains(case, [36, 48, 60, 72, 84])
    wires = [(LIBRARY.get("stainless"), WIRES)]
    for note, found in schedule(trains, Stock(wires, STOCK.coils, STOCK.legs)).items():
        assert not found[0].reason
        assert found[0].spring.turns <= 2.0 and 1.2e-3 <= found[0].spring.wire <= 1.6e-3, note


def test_coils_are_no_wider_than_the_pallet():
    train = check_trains(read_case("demo-wood"), [36])[36]
    pallet = train.role("pallet").values
    assert across(train) == pallet.number("opening_width") + 2 * 0.003  # cover of 3 mm: the default's source
    stock = Stock([(STEEL, [*WIRES, 2.3e-3, 2.5e-3])], [0.03], [0.13], most_turns=20.0)
    for found in (schedule({36: train}, stock)[36], schedule({36: train}, replace(stock, width=0.004))[36]):
        width = found[0].stock.width
        assert all(one.spring.turns * one.spring.wire <= width for one in found if not one.reason)
        assert any(one.reason.startswith("coils too wide") for one in found)
    assert width == 0.004


def test_more_safety_leaves_fewer_springs():
    def good(safety):
        stock = Stock(STOCK.wires, STOCK.coils, STOCK.legs, safety=safety)
        good = [one.spring for one in design(Wanted(2.7, 14.0, 0.004), stock) if not one.reason]
        return {(s.material.name, s.wire, s.coil, s.leg) for s in good}

    assert good(3.0) < good(2.0) < good(1.0)


@pytest.mark.parametrize(
    ("wanted", "changes", "reason"),
    [
        (Wanted(9.0, 3.0, 0.004), {"wires": [(STEEL, [1.0e-3])]}, "too much stress: "),
        (Wanted(1.0, 0.05, 0.004), {}, "too many coils: "),
        (Wanted(1.0, 900.0, 0.004), {}, "legs alone too soft"),
        (Wanted(1.0, 14.0, 0.004), {"wires": [(LIBRARY.get("spring-brass"), WIRES)]}, "no tensile strength of "),
        (Wanted(1.0, 14.0, 0.004), {"coils": [0.003]}, "coil too tight"),
        (
            Wanted(3.6, 14.0, 0.004),
            {"wires": [(STEEL, [1.6e-3])], "coils": [0.03], "legs": [0.11], "gape": 0.15},
            "free legs beyond a straight line: ",
        ),
        (Wanted(1.0, 14.0, 0.004), {"width": 0.0005}, "coils too wide: "),
    ],
)
def test_springs_that_will_not_do_say_why(wanted, changes, reason):
    stock = Stock(**{"wires": STOCK.wires, "coils": STOCK.coils, "legs": STOCK.legs, **changes})
    found = design(wanted, stock)
    assert all(one.reason for one in found)
    assert any(one.reason.startswith(reason) for one in found)
    assert reason.split(":")[0] in why_none(found)


@pytest.mark.parametrize(
    ("changes", "wanted", "message"),
    [
        ({"wires": []}, Wanted(1.0, 12.0, 0.004), "the wire stock is empty"),
        ({"wires": [(STEEL, [])]}, Wanted(1.0, 12.0, 0.004), "the wire stock is empty"),
        ({"coils": [], "legs": []}, Wanted(1.0, 12.0, 0.004), "one coil diameter and one leg length"),
        ({}, Wanted(0.0, 12.0, 0.004), "a force and a rate above 0"),
    ],
)
def test_nothing_to_choose_from(changes, wanted, message):
    stock = Stock(**{"wires": STOCK.wires, "coils": STOCK.coils, "legs": STOCK.legs, **changes})
    with pytest.raises(SpringProblem, match=message):
        design(wanted, stock)


# -- the command ---------------------------------------------------------------------------------------------
def test_the_schedule(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    options = ("--wire", "stainless", "--diameter", "1.5,1.8, 2 mm", "--csv", "s.csv")
    status, out, err = said(capsys, "springs", "demo-wood", "--notes", "C2:C4:12", *options)
    assert (status, err) == (0, "")
    assert max(map(len, out.splitlines())) <= 80
    assert "Eye protection" in " ".join(out.split())
    with (tmp_path / "s.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [row["note"] for row in rows] == ["C2", "C3", "C4"]
    for row in rows:  # the file has the wire to 1 um, the coil to 0.1 mm: of 20 mm a thousandth and a half
        wire, coil, leg = (float(row[f"{name} (mm)"]) / 1e3 for name in ("wire", "coil", "leg"))
        spring = TorsionSpring(LIBRARY.get("stainless"), wire, coil, float(row["turns"]), leg, leg)
        shut, opened = (float(row[f"force {name} (gf)"]) * 9.80665e-3 for name in ("shut", "open"))
        assert spring.rate == pytest.approx(12.0, rel=0.1)  # the case's rate
        assert opened > shut and spring.energy(opened) * 1e3 == pytest.approx(float(row["stored (mJ)"]), rel=3e-3)
        assert spring.stress(opened) / LIBRARY.get("stainless").wire_strength(wire) * 100 == pytest.approx(
            float(row["stress (%)"]), rel=3e-3
        )


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--diameter", ""], "the wire stock is empty"),
        (["--wire", ""], "the wire stock is empty"),
        (["--wire", "stainles"], "material 'stainles' is not known; nearest: stainless"),
        (["--wire", "sitka-spruce"], "material 'sitka-spruce' is a wood; a metal is needed"),
        (["--coil", "20 kg"], "--coil: '20 kg' is a mass"),
        (["--leg", "0 mm"], "--leg: '0 mm' must be above 0"),
        (["--turns", "0"], "--turns must be 1 or more"),
    ],
)
def test_bad_input(options, message, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert message in complaint(capsys, "springs", "demo-wood", "--notes", "C4", "--csv", "s.csv", *options)
    assert list(tmp_path.iterdir()) == []


def test_a_stock_without_a_spring(capsys):
    status, out, _ = said(capsys, "springs", "demo-wood", "--notes", "C4", "--diameter", "0.5 mm")
    assert status == 1
    assert "C4: no spring from this stock: of 18 that were tried: " in " ".join(out.split()) and "too soft 18" in out


def test_wire_of_no_known_strength_is_said_with_what_would_help(tmp_path, monkeypatch, capsys):
    status, out, _ = said(capsys, "springs", "demo-wood", "--notes", "C4", "--wire", "stainless,spring-brass")
    words = " ".join(out.split())
    assert status == 0 and "No tensile strength is known of spring-brass" in words and "wire_strength = [{" in words
    # What it says to write is read, and the wire is then judged.
    monkeypatch.chdir(tmp_path)
    said(capsys, "new", "shop")
    row = words[words.index("wire_strength = [") : words.index("}]") + 2]
    with (tmp_path / "shop.toml").open("a", encoding="utf-8") as file:
        file.write(f'[materials.our-brass]\nkind = "metal"\nsource = "made up for this test"\n{row}\n')
        file.write('E = "110 GPa"\ndensity = "8520 kg/m^3"\n')
    wire = ("--wire", "our-brass", "--diameter", "1.6,1.8 mm", "--safety", "0.9")
    status, out, _ = said(capsys, "springs", "shop.toml", "--notes", "G6", *wire)
    assert status == 0 and "Spring schedule: our-brass" in out and "No tensile strength" not in out


def test_the_cases_own_wire_is_the_stock(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    said(capsys, "new", "shop")
    text = (tmp_path / "shop.toml").read_text(encoding="utf-8")
    wire = 'wire = { diameter = "1.4 mm", material = "music-wire", coil_diameter = "25 mm", turns = 1, arm = "120 mm", '
    spring = text.index('name = "pallet-spring"')
    head, tail = text[:spring], text[spring:]
    tail = tail.replace("force =", "# force =", 1).replace(
        "rate =", f'{wire}free_gape = "220 mm", closed_gape = "70 mm" }}\n# rate =', 1
    )
    (tmp_path / "shop.toml").write_text(head + tail, encoding="utf-8")
    _, out, err = said(capsys, "springs", "shop.toml", "--notes", "C4")
    assert "music-wire" in out, out + err


@pytest.mark.parametrize("units", ["trade", "si"])
@pytest.mark.parametrize("held", [(), ("--held", "20 mm")])
def test_the_schedule_fits_a_terminal(capsys, units, held):
    # Long names of material pushed the note's name off the table.
    wires = ("--wire", "hard-drawn-wire,phosphor-bronze", "--diameter", "1.2,1.8 mm")
    _, out, _ = said(capsys, "springs", "demo-wood", "--notes", "C2:G6:6", *wires, *held, "--units", units)
    lines = out.splitlines()
    assert max(map(len, lines)) <= 80 and "…" not in out
    assert [line.split()[0] for line in lines if line.startswith(("C", "F#"))][:2] == ["C2", "F#2"]
