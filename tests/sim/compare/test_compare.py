"""A comparison's figures: those of single runs, by hand where a hand can, and what is said about them."""

import csv
import io
import json
import math

import numpy as np
import pytest
from rich.console import Console
from workshop_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.formulas import sections, spans, wood
from keyaction.models.materials.library import default_library
from keyaction.models.units.quantity import convert
from keyaction.plots.compare.save import save_comparison
from keyaction.sim.commands.compare import show
from keyaction.sim.compare.compare import difference
from keyaction.sim.compare.rod_choice import Setting
from keyaction.sim.compare.rod_facts import STACK_GAP, Seasons, parse_climate, rod_facts
from keyaction.sim.compare.sheets import felt, figures_of, notes_sheet, verdict
from keyaction.sim.compare.store import load_comparison
from keyaction.sim.compare.usual import SUMMER, WINTER
from keyaction.sim.compare.variants import read_variants
from keyaction.sim.figures.columns import forces_felt
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.run.run import run

LIBRARY = default_library()
CARBON: tuple[Setting, ...] = (
    ("level-tracker.material", "carbon-rod"),
    ("level-tracker.section", "round"),
    ("level-tracker.diameter", "1.5 mm"),
)


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
    # Closed forms: stretch T L / E A over the rod's way per key way; a wave needs L / sqrt(E/rho).
    for v, (name, bar) in enumerate([("sitka-spruce", sections.rectangle(0.010, 0.001))] * 2):
        material = LIBRARY.get(name)
        length, pull = compared["rod_length"][v, 0, 0], compared["pull_pluck"][v, 0, 0]
        stretch = pull / sections.axial_stiffness(material["E"].value, bar.area, length)
        rest = compared["pull_rest"][v, 0, 0] / sections.axial_stiffness(material["E"].value, bar.area, length)
        assert compared["rods_stretch"][v, 0] == pytest.approx((stretch - rest) / (250 / 400), rel=0.02)
        wave = length / sections.wave_speed(material["E"].value, material["density"].value)
        assert compared["rod_wave"][v, 0, 0] == pytest.approx(wave, rel=1e-12)


def test_spans_and_sag_by_hand(compared):
    carbon, bar = LIBRARY.get("carbon-rod"), sections.round_bar(0.0015)
    line, bending = carbon["density"].value * bar.area, carbon["E_flexural"].value * bar.weak_axis
    held, length = compared["pull_held"][2, 0, 0], compared["rod_length"][2, 0, 0]
    frequency = compared["span_frequency"][2, 0, 0]
    assert frequency == pytest.approx(sections.span_frequency(held, line, length, bending), rel=1e-12)
    spacing = compared["guide_spacing"][2, 0, 0]
    top = spans.REPETITION_BAND[1]
    assert sections.span_frequency(held, line, spacing, bending) == pytest.approx(top, rel=1e-9)
    count = compared["guides"][2, 0, 0]
    assert length / (count + 1) <= spacing < (length / count if count else math.inf)
    assert compared["sag_held"][2, 0, 0] == pytest.approx(spans.hanging_sag(held, line, length, bending))


def test_seasons_by_hand(compared):
    grown = LIBRARY.get("sitka-spruce")["shrinkage_longitudinal"].value / wood.FIBRE_SATURATION
    grown *= wood.moisture_content(*SUMMER) - wood.moisture_content(*WINTER)
    length = compared["rod_length"][0, :, 0]
    np.testing.assert_allclose(compared["season_change"][0, :, 0], length * grown)
    np.testing.assert_allclose(compared["season_key"][0], length * grown / (250 / 400), rtol=1e-9)
    assert np.all(compared["season_change"][2] == 0)


def test_the_seasons_may_be_stated(case_path):
    # Damp winters exist: then the rod is shorter in summer. Carbon stays as it is.
    damp_winter = Seasons((278.15, 0.85), (298.15, 0.45))
    found = []
    for variant in read_variants(case_path, ["spruce", "carbon-rod"]):
        part = train_of(variant.case, 60).part("level-tracker")
        found.append(rod_facts(part, (0.1, 1.5, 0.8), damp_winter)["season_change"])
    assert found[0] < 0 == found[1]


def test_a_stack_holds_the_rods_of_the_whole_compass(compared):
    # Eight notes, whichever of them are compared: thin sides and seven gaps.
    assert compared["stack_breadth"][0, 0] == pytest.approx(8 * 0.001 + 7 * STACK_GAP)
    assert compared["stack_height"][0, 0] == pytest.approx(0.010)
    assert compared["stack_breadth"][2, 0] == pytest.approx(8 * 0.0015 + 7 * STACK_GAP)
    assert compared["stack_height"][2, 0] == pytest.approx(0.0015)


def test_a_difference_is_a_share_of_the_first(compared):
    # By hand: from 86.2 gf to 14.3 gf is 83.4 % less; a share of their mean would be -143 %.
    assert difference(86.2, 14.3) == pytest.approx((14.3 - 86.2) / 86.2, rel=1e-12)
    assert 100 * difference(86.2, 14.3) == pytest.approx(-83.4, abs=0.05)
    assert np.isnan(difference(0.0, 1.0)) and np.isnan(difference(np.nan, 1.0))
    forces = compared["pluck_force"]
    np.testing.assert_allclose(compared["pluck_force_apart"], forces / forces[:1] - 1, atol=1e-12)
    for name in forces_felt():
        np.testing.assert_array_equal(compared[f"{name}_apart"][0], 0.0)


def test_what_a_finger_can_tell_is_marked_and_nothing_else(compared):
    # Rods change no force; a fifth more wind changes the pluck by more than a finger's threshold, not what follows.
    apart = compared["pluck_force_apart"]
    assert np.all(np.abs(apart[2]) < JUST_NOTICEABLE) and np.all(apart[1] > JUST_NOTICEABLE)
    told = {(one.variant, one.figure): one for one in felt(compared)}
    assert told[1, "pluck_force"].felt and told[1, "pluck_force"].count == 3
    assert not told[2, "pluck_force"].felt
    assert "which a finger can tell, at 3 of 3 notes" in verdict(compared, told[1, "pluck_force"])
    assert "below the 7\u00a0% that a finger can tell" in verdict(compared, told[2, "pluck_force"])


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


def test_notes_that_cannot_be_played_are_told(folder, keyaction):
    from short_case import ABSURD

    write_case(folder, more=ABSURD.format(note="D4"))
    told = keyaction("compare", "workshop.toml", "--rod", "spruce,carbon-rod", "--notes", "C4,D4", "--note", "C4",
                     "--out", "here")  # fmt: skip
    assert told.status == 1
    assert "A, D4: failed: the motion grew beyond all bounds" in told.err
    found = load_comparison(folder / "here")
    assert np.isnan(found["repetition_rate"][:, 1]).all() and np.isfinite(found["pluck_force"][:, 0]).all()


def test_the_command_prints_its_tables_and_writes_its_files(folder, keyaction):
    told = keyaction("compare", "workshop.toml", "--rod", "case,carbon-rod", "--notes", "C#4", "--out", "here")
    assert told.status == 0, told.err
    assert (
        "A  case: trackers sitka-spruce, strip 10 x 1 mm" in told.out
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
        ((), "one variant is no comparison"),
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
