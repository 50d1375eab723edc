"""A comparison's figures: those of single runs, by hand where a hand can, and what is said about them."""

import csv
import io
import json
import math

import numpy as np
import pytest
from rich.console import Console
from short_case import ABSURD, QUICK, STIFFER
from short_case import write_case as write_short
from working_folder import folder_with
from workshop_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.formulas import sections, spans, wood
from keyaction.models.materials.library import default_library
from keyaction.models.units.quantity import convert
from keyaction.plots.compare.save import save_comparison
from keyaction.sim.commands.compare import show
from keyaction.sim.compare.differs import differences
from keyaction.sim.compare.rod_choice import Setting
from keyaction.sim.compare.rod_facts import STACK_GAP, Seasons, parse_climate, rod_facts
from keyaction.sim.compare.rod_spans import Pulls
from keyaction.sim.compare.sheets import MARK, Felt, felt, figures_of, legend, notes_sheet, rods_note, verdict
from keyaction.sim.compare.store import load_comparison
from keyaction.sim.compare.usual import SUMMER, WINTER
from keyaction.sim.compare.variants import read_variants
from keyaction.sim.figures.columns import QUANTITIES, forces_felt
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.run.run import run
from keyaction.sim.tables.sheet import Column

LIBRARY = default_library()
CARBON: tuple[Setting, ...] = (
    ("level-tracker.material", "carbon-rod"),
    ("level-tracker.section", "round"),
    ("level-tracker.diameter", "1.5 mm"),
)


folder = folder_with(lambda folder: write_case(folder, more=QUICK))


@pytest.fixture(scope="module")
def alone(case_path):
    """C#4 with the carbon rod, played by itself by SciPy."""
    return run(read_case(case_path, set_=(*CARBON, ("box.pressure", "70 mmH2O"))), "C#4")


@pytest.mark.parametrize("name", ["pluck_force", "pluck_point", "speech_delay", "effective_mass", "wave_time"])
def test_figures_are_those_of_a_single_run(compared, alone, name):
    assert list(compared["variant"][:3:2]) == [
        "sitka-spruce, box.pressure 70 mmH2O",
        "carbon-rod, box.pressure 70 mmH2O",
    ]
    assert compared[name][2, 1] == pytest.approx(alone[name][0], rel=5e-3)


def test_the_repetition_rate_is_that_of_a_single_run(compared, alone):
    assert compared["repetition_rate"][2, 1] == pytest.approx(alone["repetition_rate"][0], abs=0.11)


def test_feel_curves_are_those_of_a_single_run(compared, alone):
    assert list(compared["curve_note"]) == ["C#4"] * 4
    for name in ("feel_down_travel", "feel_down_force", "feel_up_force"):
        np.testing.assert_allclose(compared[name][2], alone[name][0], rtol=1e-6)


@pytest.mark.parametrize(("kind", "axis"), [("compliance_budget", "give"), ("mass_budget", "part")])
def test_budgets_are_those_of_a_single_run_and_add_up(compared, alone, kind, axis):
    whole = compared["pluck_point" if axis == "give" else "effective_mass"]
    np.testing.assert_allclose(np.nansum(compared[kind], axis=2), whole, rtol=2e-3)
    for j, name in enumerate(compared[axis]):
        k = list(alone[axis]).index(name)
        assert compared[kind][2, 1, j] == pytest.approx(alone[kind][0, k], rel=5e-3, abs=5e-3 * np.nanmax(alone[kind]))


def test_stretch_and_waves_by_hand(compared):
    # Closed forms: stretch T L / E A over the rod's way per key way; a wave needs L / sqrt(E/rho). Along the grain E is
    # 1.10 times that in bending (Wood Handbook, FPL-GTR-190, 2010, ch. 5; from memory).
    for v, (name, bar) in enumerate([("sitka-spruce", sections.rectangle(0.010, 0.001))] * 2):
        material = LIBRARY.get(name)
        along = 1.10 * material["E"].value
        length, pull = compared["rod_length"][v, 0, 0], compared["pull_pluck"][v, 0, 0]
        stretch = pull / sections.axial_stiffness(along, bar.area, length)
        rest = compared["pull_rest"][v, 0, 0] / sections.axial_stiffness(along, bar.area, length)
        assert compared["rods_stretch"][v, 0] == pytest.approx((stretch - rest) / (250 / 400), rel=0.02)
        wave = length / sections.wave_speed(along, material["density"].value)
        assert compared["rod_wave"][v, 0, 0] == pytest.approx(wave, rel=1e-12)


@pytest.mark.parametrize("v", [0, 2])
@pytest.mark.parametrize("state", ["rest", "held"])
def test_whip_guides_and_sag_by_hand_in_both_states(compared, v, state):
    # The strip of spruce lies flat: it sags and whips about its thin side. The round rod has one stiffness.
    if v == 0:
        spruce, bar = LIBRARY.get("sitka-spruce"), sections.rectangle(0.010, 0.001)
        line, bending = spruce["density"].value * bar.area, 1.10 * spruce["E"].value * bar.weak_axis
    else:
        carbon, bar = LIBRARY.get("carbon-rod"), sections.round_bar(0.0015)
        line, bending = carbon["density"].value * bar.area, carbon["E_flexural"].value * bar.weak_axis

    def fact(name):
        return float(compared[name][v, 0, 0])

    pull, length, top = fact(f"pull_{state}"), fact("rod_length"), spans.REPETITION_BAND[1]
    count = fact("guides")
    beam = np.pi / (2 * length**2) * math.sqrt(bending / line)
    euler = np.pi**2 * bending / length**2
    assert fact(f"span_{state}") == pytest.approx(beam * math.sqrt(1 + pull / euler), rel=1e-9)
    assert sections.span_frequency(pull, line, fact(f"clear_{state}"), bending) == pytest.approx(top, rel=1e-9)
    between = sections.span_frequency(pull, line, length / (count + 1), bending)
    assert fact(f"guided_{state}") == pytest.approx(between, rel=1e-9) and between >= top
    whole, part = (spans.hanging_sag(pull, line, span, bending) for span in (length, length / (count + 1)))
    assert fact(f"sag_guided_{state}") == pytest.approx(part, rel=1e-9)
    if whole <= spans.SMALL_SAG * length:
        assert fact(f"sag_{state}") == pytest.approx(whole, rel=1e-9)
    else:
        assert np.isnan(fact(f"sag_{state}"))


def test_no_guides_never_sag_less_than_guides_in_the_same_state(compared):
    for state in ("rest", "held", "lost"):
        whole, between = compared[f"sag_{state}"], compared[f"sag_guided_{state}"]
        there = np.isfinite(whole)
        assert np.all(whole[there] >= between[there]) and np.all(np.isfinite(between))


def test_seasons_by_hand(compared):
    grown = LIBRARY.get("sitka-spruce")["shrinkage_longitudinal"].value / wood.FIBRE_SATURATION
    grown *= wood.moisture_content(*SUMMER) - wood.moisture_content(*WINTER)
    length = compared["rod_length"][0, :, 0]
    np.testing.assert_allclose(compared["season_change"][0, :, 0], length * grown)
    np.testing.assert_allclose(compared["season_key"][0], length * grown / (250 / 400), rtol=1e-9)
    assert np.all(compared["season_change"][2] == 0)


def test_the_seasons_may_be_stated(case_path):
    # Damp winters exist: then the rod is shorter in summer, for all that it is warmer. Carbon hardly knows of heat.
    damp_winter = Seasons((278.15, 0.85), (298.15, 0.45))
    found = []
    for variant in read_variants(case_path, ["spruce", "carbon-rod"]):
        part = train_of(variant.case, 60).part("level-tracker")
        found.append(rod_facts(part, Pulls(0.1, 1.5, 0.8), damp_winter)["season_change"])
    length = train_of(variant.case, 60).part("level-tracker").values.number("length")
    by_heat = length * 20 * LIBRARY.get("carbon-rod")["thermal_expansion"].value
    assert found == [pytest.approx(found[0]), pytest.approx(by_heat)]
    assert found[0] < -100 * abs(found[1]) < 0


@pytest.mark.parametrize(("name", "millimetres"), [("aluminium", 4.248), ("steel", 2.106)])
def test_metal_rods_grow_with_the_heat(case_path, name, millimetres):
    # W. D. Callister, Materials Science and Engineering, Table B.6 (read): 23.6 and 11.7e-6/K, by hand, 9 m and 20 K.
    variant, _ = read_variants(case_path, [name, "case"], ["level-tracker.length=9 m"])
    part = train_of(variant.case, 60).part("level-tracker")
    warmer = Seasons((283.15, 0.5), (303.15, 0.5))
    assert 1e3 * rod_facts(part, Pulls(0.1, 1.5, 0.8), warmer)["season_change"] == pytest.approx(millimetres, rel=1e-9)


def test_growth_that_is_not_known_is_a_dash(case_path):
    text = case_path.read_text(encoding="utf-8")
    own = '[materials.plain]\nkind = "wood"\nsource = "made up"\ndensity = "430 kg/m^3"\nE = "9 GPa"\n'
    path = case_path.with_name("plain.toml")
    path.write_text(f"{text}\n{own}", encoding="utf-8")
    variant, _ = read_variants(path, ["plain", "case"])
    found = rod_facts(train_of(variant.case, 60).part("level-tracker"), Pulls(0.1, 1.5, 0.8), Seasons())[
        "season_change"
    ]
    assert math.isnan(found)
    assert Column("growth", "mm").shown(found) == "-"


def test_a_stack_holds_the_rods_of_the_whole_compass_as_they_lie(compared):
    # Eight notes, whichever of them are compared: broad sides, as strips lie flat, and seven gaps.
    assert compared["stack_breadth"][0, 0] == pytest.approx(8 * 0.010 + 7 * STACK_GAP)
    assert compared["stack_height"][0, 0] == pytest.approx(0.001)
    assert compared["stack_breadth"][2, 0] == pytest.approx(8 * 0.0015 + 7 * STACK_GAP)
    assert compared["stack_height"][2, 0] == pytest.approx(0.0015)


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (
            {"rollers": ["case", "steel@8mm"]},
            ["roller: sitka-spruce, square 24 mm", "roller: steel, round 8 mm"],
        ),
        (
            {"rods": ["case", "carbon-rod"]},
            ["trackers: western-redcedar, strip 10 x 1.2 mm flat", "trackers: carbon-rod, round 1.5 mm"],
        ),
        (
            {"bundles": ["thin: drop.width=8 mm; drop.thickness=1 mm"]},
            ["drop: western-redcedar, strip 10 x 1.2 mm flat", "drop: western-redcedar, strip 8 x 1 mm flat"],
        ),
        ({"settings": ["box.pressure=60 mmH2O,70 mmH2O"]}, ["box: pressure 60 mmH2O", "box: pressure 70 mmH2O"]),
        ({"rods": ["case"]}, [""]),
    ],
)
def test_variants_are_told_apart_by_what_differs(asked, told):
    variants = read_variants("demo-wood", **asked)
    trains = [{60: train_of(variant.case, 60)} for variant in variants]
    assert differences(variants, trains, [60], "trade") == told


def test_a_long_row_of_differences_is_counted_at_its_end():
    fields = [f"{part}.length" for part in ("riser", "level-tracker", "drop", "pull-down", "roller")]
    sizes = ("610 mm", "1810 mm", "910 mm", "310 mm", "410 mm")
    bundle = "; ".join(f"{field}={size}" for field, size in zip(fields, sizes, strict=True))
    variants = read_variants("demo-wood", bundles=[f"long: {bundle}; box.pressure=60 mmH2O"])
    told = differences(variants, [{60: train_of(v.case, 60)} for v in variants], [60], "si")
    assert all(one.endswith("; and 1 more") and one.count(":") == 5 for one in told)


def test_the_legend_says_what_differs_and_the_note_what_a_dash_is(compared):
    lines = legend(compared)
    assert len(lines) == 4 and len(set(lines)) == 4
    for line, name in zip(lines, compared["variant"], strict=True):
        assert name in line and "box: pressure" in line and "tracker" in line
    assert "10\u00a0% of the span, as of a slack strip" in rods_note(compared)


def test_a_difference_is_a_share_of_the_first(compared):
    # By hand: from 86.2 gf to 14.3 gf is 83.4 % less; a share of their mean would be -143 %.
    share = QUANTITIES["pluck_force"].resolution.share
    assert share(86.2, 14.3) == pytest.approx((14.3 - 86.2) / 86.2, rel=1e-12)
    assert 100 * share(86.2, 14.3) == pytest.approx(-83.4, abs=0.05)
    assert np.isnan(share(0.0, 1.0)) and np.isnan(share(np.nan, 1.0)) and np.isnan(share(1.0, np.nan))
    forces = compared["pluck_force"]
    np.testing.assert_allclose(compared["pluck_force_apart"], forces / forces[:1] - 1, atol=1e-12)
    for name in forces_felt():
        np.testing.assert_array_equal(compared[f"{name}_apart"][0], 0.0)


def test_nothing_is_a_share_of_no_force():
    # A follow-through of a tenth of a microgram-force made shares of millions of per cent.
    share = QUANTITIES["follow_through_force"].resolution.share
    assert np.isnan(share(1e-9, 0.75)) and np.isnan(share(0.009, 0.75))
    assert share(0.011, 0.022) == pytest.approx(1.0)
    np.testing.assert_array_equal(share(np.array([0.0, 2.0]), np.array([1.0, 3.0])), [np.nan, 0.5])


def words(apart, count=0, of=3, lacking=0):
    return Felt(1, "pluck_force", apart, "C4", count, of, lacking)


@pytest.mark.parametrize(
    ("one", "told"),
    [
        (words(0.0), "B against A: pluck force is the same"),
        (words(-4e-5), "B against A: pluck force is the same"),
        (words(6e-5), "pluck force differs by up to +0.01\u00a0% (at C4): below the 7\u00a0% that a finger can tell"),
        (words(0.08, 1, 2, 1), "which a finger can tell, at 1 of 2 notes; 1 note cannot be compared"),
        (words(0.01, 0, 1, 2), "below the 7\u00a0% that a finger can tell; 2 notes cannot be compared"),
        (words(math.nan, 0, 0, 3), "pluck force cannot be compared: no note has it in both"),
    ],
)
def test_differences_in_words(compared, one, told):
    assert verdict(compared, one).endswith(told)


def test_a_force_without_a_mark_is_not_said_to_be_below_the_threshold_where_it_has_no_figure():
    assert "every other" not in MARK and "are there to be compared" in MARK


def test_what_a_finger_can_tell_is_marked_and_nothing_else(compared):
    # Rods change no force; a fifth more wind changes the pluck by more than a finger's threshold, not what follows.
    apart = compared["pluck_force_apart"]
    assert np.all(np.abs(apart[2]) < JUST_NOTICEABLE) and np.all(apart[1] > JUST_NOTICEABLE)
    told = {(one.variant, one.figure): one for one in felt(compared)}
    assert told[1, "pluck_force"].felt and told[1, "pluck_force"].count == 3
    assert not told[2, "pluck_force"].felt
    assert "which a finger can tell, at 3 of 3 notes" in verdict(compared, told[1, "pluck_force"])
    assert "is the same" in verdict(compared, told[2, "pluck_force"])


def test_the_sample_confirmed_the_figures(compared):
    assert json.loads(compared.about["checks_passed"])
    assert "designs played again one by one as a check" in json.loads(compared.about["checks"])[0]


@pytest.fixture(scope="module")
def written(compared, tmp_path_factory):
    folder = tmp_path_factory.mktemp("compared")
    return folder, save_comparison(compared, folder)


def test_the_folder_holds_what_is_said(written):
    folder, names = written
    assert sorted(path.name for path in folder.iterdir()) == names
    assert {"compare.h5", "notes.csv", "compass.csv", "trackers.csv", "budgets.csv"} <= set(names)
    assert {"feel.png", "compass.png", "budgets.png"} <= set(names)


def test_the_comparison_is_read_back_as_it_was(written, compared):
    found = load_comparison(written[0])
    assert found.variables.keys() == compared.variables.keys()
    for name, variable in compared.variables.items():
        assert found.variables[name].dims == variable.dims
        if variable.data.dtype.kind == "f":
            np.testing.assert_array_equal(found[name], variable.data)


def test_csv_figures_are_those_of_the_comparison(written, compared):
    rows = list(csv.reader((written[0] / "notes.csv").read_text(encoding="utf-8").splitlines()))
    assert rows[0][0] == "note" and [row[0] for row in rows[1:]] == compared.notes
    head = rows[0]
    for name in figures_of(compared):
        variable = compared.variables[name]
        _, unit = convert(1.0, variable.unit or "1")
        for v, letter in enumerate("ABCD"):
            column = head.index(f"{variable.label} {letter} ({unit})" if unit else f"{variable.label} {letter}")
            shown = [float(row[column]) for row in rows[1:]]
            np.testing.assert_allclose(shown, convert(variable.data[v], variable.unit or "1")[0], rtol=5e-5)
    assert len(head) == len(notes_sheet(compared, "trade").columns)


@pytest.mark.long
def test_notes_that_cannot_be_played_are_told(folder, keyaction):
    write_case(folder, more=QUICK + ABSURD.format(note="D4"))
    told = keyaction("compare", "workshop.toml", "--rod", "spruce,carbon-rod", "--notes", "C4,D4", "--note", "C4",
                     "--out", "here")  # fmt: skip
    assert told.status == 1
    assert "A, D4: failed: its fastest vibration, " in told.err
    found = load_comparison(folder / "here")
    assert np.isnan(found["repetition_rate"][:, 1]).all() and np.isfinite(found["pluck_force"][:, 0]).all()


def test_a_note_that_fails_has_its_verdict_all_the_same(keyaction, tmp_path):
    weak = write_short(tmp_path, more=QUICK + '\n[notes.F4.pallet-spring]\nforce = "0.01 N"\n')
    told = keyaction("compare", weak, "--set", "box.pressure=70 mmH2O,75 mmH2O", "--notes", "E4:F4",
                     "--out", tmp_path / "here")  # fmt: skip
    assert told.status == 1
    assert "A: F4: hangs" in told.out and "B: F4: hangs" in told.out


@pytest.mark.long
def test_a_variant_that_fails_is_not_said_to_be_below_the_threshold(keyaction):
    told = keyaction("compare", "workshop.toml", "--variant", "case", "--variant", f"wild: {STIFFER}",
                     "--notes", "C4", "--out", "here")  # fmt: skip
    assert told.status == 1
    assert "pluck force cannot be compared: no note has it in both" in " ".join(told.out.split())
    assert "every other" not in told.out


@pytest.mark.long
def test_without_wind_and_spring_there_are_no_shares(folder, keyaction):
    still = "box.pressure=0 mmH2O; pallet-spring.force=0.0001 gf; pallet-spring.rate=0.0001 N/m"
    keyaction("compare", "workshop.toml", "--variant", f"still: {still}", "--variant", "case", "--notes", "C4",
              "--out", "here")  # fmt: skip
    found = load_comparison(folder / "here")
    for name in forces_felt():
        first, apart = found[name][0, 0], found[f"{name}_apart"][1, 0]
        assert np.isnan(apart) if not first >= 0.01 else abs(apart) < 1000


@pytest.mark.long
def test_a_variant_without_wind_brings_no_warning(keyaction):
    # Warnings are errors here. What is left in the groove is an infinite share of no wind, at every step of time.
    told = keyaction("compare", "demo-wood", "--set", "box.pressure=70 mmH2O,0 mmH2O", "--set",
                     "strokes.repetition_highest=8 Hz", "--notes", "C4", "--out", "here")  # fmt: skip
    assert (told.status, told.err) == (0, "")
    assert "B: C4: no wind" in told.out


def test_a_single_variant_has_its_tables_and_no_verdicts(folder, keyaction):
    told = keyaction("compare", "workshop.toml", "--rod", "case", "--notes", "C#4", "--price", "spruce=2",
                     "--out", "here")  # fmt: skip
    assert told.status == 0, told.err
    assert "Tracker 'level-tracker', note C#4" in told.out and "A: needs no guides" not in told.out
    assert "What a finger can tell" not in told.out and "!" not in told.out
    assert "A: 1 guide, one every" in " ".join(told.out.split())
    rows = list(csv.DictReader((folder / "here" / "trackers.csv").read_text(encoding="utf-8").splitlines()))
    assert float(rows[0]["price"]) == pytest.approx(2 * float(rows[0]["length (mm)"]) / 1e3, rel=1e-4)


@pytest.mark.long
def test_notes_may_be_named_in_any_order(folder, keyaction):
    told = keyaction("compare", "workshop.toml", "--rod", "case", "--notes", "D4,C4", "--note", "D4", "--out", "here")
    assert told.status == 0, told.err
    assert list(load_comparison(folder / "here").notes) == ["C4", "D4"]


def test_the_command_prints_its_tables_and_writes_its_files(folder, keyaction):
    told = keyaction("compare", "workshop.toml", "--rod", "case,carbon-rod", "--notes", "C#4", "--out", "here")
    assert told.status == 0, told.err
    assert (
        "A  case (level-tracker: sitka-spruce, strip 10 x 1 mm flat)" in told.out
        and "Tracker 'level-tracker', note C#4" in told.out
    )
    assert max(len(line) for line in told.out.splitlines() if " files in " not in line) <= 80
    assert (folder / "here" / "compare.h5").is_file()


@pytest.mark.parametrize("units", ["trade", "si"])
def test_what_is_printed_fits_into_80_columns_and_loses_nothing(compared, units):
    shown = io.StringIO()
    show(Console(file=shown, width=80, highlight=False, emoji=False), compared, units)
    text = shown.getvalue()
    assert max(map(len, text.splitlines())) <= 80
    assert "\u2026" not in text
    for name in figures_of(compared):
        assert " ".join(compared.variables[name].label.split()[:2]) in text


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("--rod", "sprucee,carbon-rod"), "nearest: spruce"),
        (("--set", "palet.eye=1 mm,2 mm"), "did you mean 'pallet'?"),
        (("--rod", "spruce,carbon-rod", "--note", "C9"), "C9"),
        (("--rod", "spruce,carbon-rod", "--notes", "H4"), "H4"),
        (
            ("--rod", "spruce,carbon-rod", "--winter", "cold"),
            "--winter 'cold': a temperature and a humidity are needed",
        ),
        (("--rod", "spruce,carbon-rod", "--summer", "20 degC, 99 %"), "the published equation holds from 5"),
        (("--rod", "spruce,carbon-rod", "--jobs", "-1"), "--jobs -1"),
        ((), "nothing is named to compare"),
        (("--rod", "spruce,carbon-rod", "--notes", "C4", "--note", "D4"), "--note D4: is not among --notes C4"),
        (("--rod", "spruce,carbon-rod", "--note", "C4,D4"), "--note C4,D4: names 2 notes; one is needed"),
        (("--rod", "spruce,carbon-rod", "--price", "oak=3"), "--price oak: no rod is of it"),
        (("--rod", "spruce", "--ends", "carbon-rod=1 g"), "'carbon-rod' is not compared; --rod names sitka-spruce"),
        (("--roller", "steel"), "--roller: the case has no rollers"),
        (("--variants", "none.toml"), "none.toml: no such file"),
    ],
)
def test_bad_input_is_one_message_and_leaves_nothing(keyaction, arguments, told):
    before = keyaction.tree()
    ended = keyaction("compare", "workshop.toml", *arguments, "--out", "here")
    assert ended.status == 2
    assert told in ended.err and len(ended.lines) == 1
    assert keyaction.tree() == before and not (keyaction.folder / "here").exists()


def test_a_folder_that_is_a_file_is_refused_before_anything_is_computed(keyaction):
    (keyaction.folder / "here").write_text("mine", encoding="utf-8")
    ended = keyaction("compare", "workshop.toml", "--rod", "spruce,carbon-rod", "--out", "here")
    assert ended.status == 1
    assert "here: is no folder" in ended.err
    assert (keyaction.folder / "here").read_text(encoding="utf-8") == "mine"


def test_a_climate_is_a_temperature_and_a_humidity():
    assert parse_climate("18 degC, 35 %", "--winter") == pytest.approx(WINTER)
    with pytest.raises(ValueError, match="--winter '70 %': a temperature and a humidity are needed"):
        parse_climate("70 %", "--winter")
