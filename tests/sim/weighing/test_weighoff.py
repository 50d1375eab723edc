"""Weigh-off: by hand, by statics, by laying masses on, and what the command says."""

import csv
import math
from dataclasses import replace

import pytest
from command_line import complaint, said
from hung_key import AT, EYE, PALLET_PIN, SMOOTH, SPRING, G, Hand, hung
from spellings import figures
from wide_square import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import select, train_of
from keyaction.cases.text.find import find_case
from keyaction.models.notes import is_sharp
from keyaction.sim.figures.verdict import Fate, Verdict
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.statics.balance import NoEquilibrium
from keyaction.sim.weighing import weighoff
from keyaction.sim.weighing.sheet import weigh_sheet, wrong
from keyaction.sim.weighing.weighoff import Weights, apart, by_masses, by_statics, smallest, weigh, weigh_note, wind_off

GF = G / 1000


def still(model):
    """The same note without wind."""
    return NoteModel(wind_off(model.train))


def seat_left(hand):
    """Force at the front with the pallet just leaving or meeting its seat."""
    return hand.key(hand.opens)[0]


# -- by hand -------------------------------------------------------------------------------------------------
def test_a_frictionless_train_by_hand():
    found = weigh_note(60, hung(**SMOOTH).train)
    lifted = seat_left(Hand(wind=0.0))
    # The spring's rise over half a millimetre at the eye: 20 N/m x (100/165)^2 x 250/400 x 0.5 mm = 2.3 mN.
    rise = 20.0 * (AT / EYE) ** 2 * 0.625 * 0.5e-3
    assert found.off.up == pytest.approx(lifted, rel=1e-4)
    assert found.off.down == pytest.approx(lifted + rise, rel=1e-4)
    assert found.friction == pytest.approx(rise / 2, abs=2e-5)
    assert found.spring_and_balance == pytest.approx(lifted + rise / 2, rel=1e-4)
    assert found.on.down == pytest.approx(seat_left(Hand()), rel=5e-4)
    assert found.wind == pytest.approx(seat_left(Hand()) - lifted, rel=5e-3)


def test_a_frictional_train_by_hand():
    found = weigh_note(60, hung().train)
    down, up = (seat_left(Hand(sense, wind=0.0)) for sense in (1, -1))
    assert found.off.up == pytest.approx(up, rel=1e-4)
    assert found.off.down == pytest.approx(down + 2.3e-3, rel=2e-4)
    assert found.friction == pytest.approx((down - up) / 2 + 1.15e-3, rel=2e-3)
    assert found.on.down == pytest.approx(seat_left(Hand(1)), rel=5e-4)


def test_friction_and_balance_are_blank_where_the_key_stays_down():
    """A key so heavy in its pin that it does not come back without wind: half of what its down-weight is, is no figure.

    By hand: the break-away moment of 0.35 N m over the front of 0.4 m is 0.87 N more on the way down, 0.87 N less up.
    """
    light, heavy = (weighoff.weigh_note(60, hung(**{"key.pin.breakaway": b}).train) for b in (0.05, 0.35))
    assert light.off.up > 0.0
    assert light.friction == pytest.approx((light.off.down - light.off.up) / 2, rel=1e-12)
    assert heavy.off.up == 0.0 and heavy.off.down > 0.0
    assert math.isnan(heavy.friction) and math.isnan(heavy.spring_and_balance)
    # What is blank is not half the down-weight: it is more, by what the pin holds back.
    assert light.friction + 0.30 / 0.4 > heavy.off.down / 2
    sheet = weigh_sheet([heavy], "scientific", "trade")
    shown = {column.heading: cell for column, cell in zip(sheet.columns, sheet.rows[0], strict=True)}
    assert math.isnan(shown["friction at the key"]) and math.isnan(shown["spring and balance at the key"])
    assert shown["up-weight, wind off"] == 0.0


def test_the_closing_margin_by_hand():
    # Spring less weight less the break-away of the hinge, over the eye.
    weight = 0.060 * G * 0.205 / 2
    margin = (AT * SPRING - weight - PALLET_PIN[0]) / EYE
    assert weighoff.closing_margin(hung().train) == pytest.approx(margin, rel=1e-12)


def test_hold_weight_by_hand():
    # At the bottom felt the pallet is open by the way that is left of the dip; friction holds the key down.
    found = by_statics(hung())
    hand = Hand(-1)
    low, high = hand.opens, 0.1
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if hand.key(middle)[1] < 0.0095 else (low, middle)
    assert found.hold == pytest.approx(hand.key(low)[0], rel=1e-4)
    assert found.up <= found.hold


def test_what_is_never_opened_or_never_comes_back():
    heavy = by_statics(hung(**{"spring.force": 20.0}))
    assert heavy.down == pytest.approx(seat_left(Hand(1, spring=20.0)), rel=1e-3)
    slack = by_statics(hung(**{"wire.lost_motion": 0.007}))  # 11.2 mm at the front, the dip is 9.5 mm
    assert math.isnan(slack.down) and slack.hold == 0.0  # nothing holds the hung key up
    assert math.isnan(slack.up)  # nor was the pallet ever off the seat to which it would be lifted
    stuck = by_statics(hung(**{"key.pin.breakaway": 0.9}))
    assert (stuck.hold, stuck.up) == (0.0, 0.0)
    assert math.isfinite(stuck.down)


# -- masses --------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("near", [1, 3, 17, 40, 41, 42, 400, 5000])
@pytest.mark.parametrize("wanted", [1, 2, 41, 4999, 5000, 5001])
def test_the_search_for_a_mass(wanted, near):
    tried = []

    def passes(grams):
        tried.append(grams)
        return grams >= wanted

    assert smallest(passes, near) == wanted
    assert len(set(tried)) == len(tried) <= 30
    if near == wanted:
        assert len(tried) <= 2


@pytest.mark.parametrize("wind", [True, False], ids=["wind on", "wind off"])
def test_statics_and_masses_agree_to_the_gram(make_model, wind):
    one = make_model() if wind else still(hung(**{"wire.damping": 40.0}))
    static = by_statics(one)
    laid = by_masses(one, static)
    assert all(abs(by) <= 1 for by in apart(static, laid).values()), (static, laid)
    # In whole grams, and searched for from elsewhere just the same.
    assert laid.down / GF == pytest.approx(round(laid.down / GF), abs=1e-9)
    if not wind:
        away = Weights(static.down + 5 * GF, static.hold + 3 * GF, static.up - 4 * GF)
        assert by_masses(one, away) == laid


def test_masses_that_gather_speed_are_explained():
    model = hung(**{"wire.lost_motion": 1.5e-3})
    static = by_statics(model)
    laid = by_masses(model, static, 0.15)
    assert apart(static, laid)["down"] < -1
    (line,) = [one for one in weighoff._explained(model, static, laid, "wind on") if one.startswith("down")]
    assert "they gather speed on the way; laid in 8 s they agree" in line


def test_whole_grams_apart():
    static = Weights(100.4 * GF, 50.0 * GF, 45.7 * GF)
    assert apart(static, Weights(101 * GF, 50 * GF, 45 * GF)) == {"down": 0, "hold": 0, "up": 0}
    assert apart(static, Weights(99 * GF, 52 * GF, 46 * GF)) == {"down": -2, "hold": 2, "up": 1}
    assert apart(static, Weights(math.nan, 50 * GF, 45 * GF))["down"] > 1000


def test_a_weight_that_only_one_way_finds_is_told_in_words(monkeypatch):
    static, laid = Weights(math.nan, 50.0 * GF, 45.7 * GF), Weights(20 * GF, 50 * GF, 45 * GF)
    monkeypatch.setattr(weighoff, "by_masses", lambda *_: laid)
    (line,) = weighoff._explained(hung(), static, laid, "wind on")
    assert line == "down-weight, wind on: none by statics, 20 gf by masses"


# -- notes of a case -----------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def wood():
    return read_case("demo-wood")


def test_sharps_are_weighed_where_one_says(wood):
    one, other = weigh(wood, [61]), weigh(wood, [61], sharp_front=0.185)
    # Nothing but the lever changes: the same moments at the key, with friction of the key's pin a little more.
    assert other[0].on.down / one[0].on.down == pytest.approx(0.230 / 0.185, rel=3e-3)
    assert other[0].off.up / one[0].off.up == pytest.approx(0.230 / 0.185, rel=3e-3)
    assert weigh(wood, [60], sharp_front=0.185) == weigh(wood, [60])
    here, there = figures(train_of(wood, 61)), figures(weighoff.weighed_train(wood, 61, 0.185))
    assert there["r_rest_key"].value == here["r_rest_key"].value == 0.230
    assert there["dip_key"].value == pytest.approx(here["dip_key"].value * 0.185 / 0.230, rel=1e-12)
    assert [is_sharp(note) for note in (60, 61)] == [False, True]


def test_the_shares_make_up_the_down_weight(wood):
    (found,) = weigh(wood, [48])
    assert found.friction + found.spring_and_balance + found.wind == pytest.approx(found.on.down, rel=1e-12)
    assert found.on.down > found.on.hold >= found.on.up > 0
    assert found.off.down > found.off.up


def test_the_wind_goes_off_and_nothing_else(wood):
    train = train_of(wood, 60)
    off = wind_off(train)
    changed = {name.what for name, item in train.parameters.items() if off.parameters[name].value != item.value}
    assert changed == {"p_box"}


# -- the command ---------------------------------------------------------------------------------------------
def test_the_command(wood, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    status, out, err = said(capsys, "weigh", "demo-wood", "--notes", "C3,C4", "--laid", "C4", "--csv", "w.csv")
    assert (status, err) == (0, "")
    assert max(map(len, out.splitlines())) <= 80
    assert "Statics and masses agree to the gram." in out
    (c3, c4) = weigh(wood, [48, 60])
    row = next(line for line in out.splitlines() if line.startswith("C4")).split()
    figures = [*vars(c4.on).values(), *vars(c4.off).values(), c4.friction, c4.spring_and_balance, c4.wind, c4.closing]
    assert row == ["C4", *(f"{force / GF:.1f}" for force in figures)]
    with (tmp_path / "w.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [one["note"] for one in rows] == ["C3", "C4"]
    assert float(rows[0]["down-weight, wind on (gf)"]) == pytest.approx(c3.on.down / GF, abs=0.0051)
    assert float(rows[1]["closing margin at the eye, wind off (gf)"]) == pytest.approx(c4.closing / GF, abs=0.0051)


def test_the_command_in_si(capsys):
    status, out, _ = said(capsys, "weigh", "demo-wood", "--notes", "C4", "--laid", "none", "--units", "si")
    assert status == 0 and "masses" not in out
    assert max(map(len, out.splitlines())) <= 80


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--sharp-front", "2 kg"], "--sharp-front: '2 kg' is a mass; a length is needed"),
        (["--sharp-front", "5 mm"], "--sharp-front: '5 mm' is out of range; 20 mm to 2000 mm is allowed"),
        (["--notes", "C9"], "'C9'"),
        (["--laid", "H2"], "'H2'"),
    ],
)
def test_bad_input(arguments, message, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert message in complaint(capsys, "weigh", "demo-wood", "--csv", "w.csv", *arguments)
    assert list(tmp_path.iterdir()) == []


def test_a_table_that_cannot_be_written(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    status, out, err = said(capsys, "weigh", "demo-wood", "--notes", "C4", "--csv", "nowhere/w.csv")
    assert status == 1 and out == "" and "there is no folder nowhere" in err


def test_a_note_that_cannot_be_weighed_is_named_and_the_others_go_on(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    path = write_case(tmp_path)
    status, out, err = said(capsys, "weigh", path, "--notes", "B3,C4", "--laid", "none", "--csv", "w.csv")
    assert status == 1
    rows = {line.split()[0]: line.split()[1:] for line in out.splitlines() if line.startswith(("B3", "C4"))}
    assert float(rows["B3"][0]) > 100 and rows["C4"][0] == "failed"
    assert len(rows["C4"]) == 2 and float(rows["C4"][1]) > 0.0  # the closing margin needs no press
    assert err.startswith("C4: failed: slow press: upper-square turns by 0.8") and len(err.splitlines()) == 1
    with (tmp_path / "w.csv").open(encoding="utf-8") as file:
        one, other = csv.DictReader(file)
    assert one["status"] == "ok" and other["status"].startswith("failed: slow press: upper-square turns by 0.8")
    assert other["down-weight, wind on (gf)"] == ""


def test_a_pallet_that_stands_open_has_no_down_weight():
    # Drawn up by 3 mm the wire holds the pallet off its seat: nothing is left that a mass could take through the pluck.
    found = by_statics(hung(**{"wire.lost_motion": "-3 mm"}))
    assert math.isnan(found.down)
    assert found.hold > 0.0


# -- notes that do not as they should ------------------------------------------------------------------------
FAULTS = """
[notes.C4.level-tracker]
lost_motion = "8 mm"
[notes.D4.level-tracker]
lost_motion = "-2.5 mm"
[notes.E4.pallet]
seat_leak = "60 mm^2"
[notes.F4.roller]
pin = { breakaway = "60 N*mm" }
[notes.G4.pallet-spring]
force = "0.05 N"
"""
NAMES = ("C4", "D4", "E4", "F4", "G4", "A4")


@pytest.fixture(scope="module")
def faulty(tmp_path_factory):
    """The shipped case with a slack wire, one too tight, a leak, a stiff pin and a spring without force."""
    folder = tmp_path_factory.mktemp("faulty")
    source = find_case("demo-wood")
    (folder / "demo-chest.csv").write_bytes((source.parent / "demo-chest.csv").read_bytes())
    path = folder / "faulty.toml"
    path.write_text(source.read_text(encoding="utf-8") + FAULTS, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def weighed(faulty):
    case = read_case(faulty)
    return dict(zip(NAMES, weigh(case, select(case, ",".join(NAMES))), strict=True))


def test_every_note_has_its_verdict(weighed):
    fates = [one.verdict.fate for one in weighed.values()]
    assert fates == [Fate.MUTE, Fate.CIPHER, Fate.CIPHER, Fate.HANGS, Fate.HANGS, Fate.SPEAKS]


def test_a_note_that_never_speaks_has_a_hold_weight_and_no_other(wood, weighed):
    mute, (well,) = weighed["C4"], weigh(wood, [60])
    assert mute.failed == "" and mute.closing == well.closing
    for weights in (mute.on, mute.off):
        assert math.isnan(weights.down) and math.isnan(weights.up)
        assert 0.0 < weights.hold < well.off.hold  # the key by itself: no spring holds it up


def test_a_pallet_that_stands_open_is_neither_opened_nor_lifted_to_its_seat(wood, weighed):
    for weights in (weighed["D4"].on, weighed["D4"].off):
        assert math.isnan(weights.down) and math.isnan(weights.up) and weights.hold > 0.0
    leaking, (well,) = weighed["E4"], weigh(wood, [64])  # without wind a leak is nothing
    assert leaking.off.down == pytest.approx(well.off.down, rel=1e-6)
    assert leaking.off.up == pytest.approx(well.off.up, rel=1e-6)


@pytest.mark.parametrize("name", ["C4", "D4"])
def test_masses_find_no_weight_where_statics_find_none(faulty, weighed, name):
    model, static = NoteModel(train_of(read_case(faulty), weighed[name].note)), weighed[name].on
    laid = by_masses(model, static)
    assert math.isnan(laid.down) and math.isnan(laid.up)
    assert all(abs(by) <= 1 for by in apart(static, laid).values())


def test_the_command_says_what_is_wrong_with_notes(faulty, weighed, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    asked = ("weigh", str(faulty), "--notes", ",".join(NAMES), "--laid", "none", "--csv", "w.csv")
    status, out, err = said(capsys, *asked)
    assert status == 1 and err.startswith("G4: failed: hangs: ") and len(err.splitlines()) == 1
    assert max(map(len, out.splitlines())) <= 80
    rows = {line.split()[0]: line.split()[1:] for line in out.splitlines() if line[:3] in {f"{n} " for n in NAMES}}
    assert rows["C4"][:6] == ["-", rows["C4"][1], "-", "-", rows["C4"][4], "-"] and float(rows["C4"][1]) > 0
    assert rows["G4"] == ["-"] * 9 + [f"{weighed['G4'].closing / GF:.1f}"]
    text = " ".join(out.split())
    for name in NAMES[:-1]:
        assert f"{name}: {weighed[name].verdict}" in text
    assert "A4: " not in text
    with (tmp_path / "w.csv").open(encoding="utf-8") as file:
        told = {one["note"]: one["status"] for one in csv.DictReader(file)}
    assert told == {name: str(weighed[name].verdict) for name in NAMES[:-1]} | {"A4": "ok"}


def test_many_like_notes_are_told_in_few_lines(weighed):
    hung_ones = [
        replace(weighed["F4"], note=60 + i, verdict=Verdict(Fate.HANGS, f"by {i if i > 1 else 0} gf")) for i in range(9)
    ]
    assert wrong(hung_ones, "scientific") == [
        "C4, C#4: hangs: by 0 gf", "D4: hangs: by 2 gf", "D#4: hangs: by 3 gf", "E4: hangs: by 4 gf",
        "F4: hangs: by 5 gf", "F#4: hangs: by 6 gf", "G4, G#4: hangs",
    ]  # fmt: skip


def test_what_is_wrong_without_wind_does_not_fail_the_note(monkeypatch):
    def broken(model):
        if model.train.box_pressure == 0.0:
            raise NoEquilibrium("breaks off")
        return Weights(2.0, 1.0, 0.5)

    monkeypatch.setattr(weighoff, "by_statics", broken)
    found = weigh_note(60, hung().train, laid=True)
    assert (found.failed, found.on.down, found.laid_on) == ("", 2.0, None)
    assert found.reasons == ("no weights with the wind off: breaks off",)
