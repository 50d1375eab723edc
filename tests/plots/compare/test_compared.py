"""Pictures of a comparison: its figures, clear lettering, and a page with a reason where there is none."""

import json
from dataclasses import replace

import matplotlib as mpl
import numpy as np
import pytest
from figure_checks import changed, outside, overlaps, words
from workshop_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.models.units.quantity import convert
from keyaction.plots import budgets
from keyaction.plots.compare.budgets import compared_budgets
from keyaction.plots.compare.compass import PANELS, compared_compass
from keyaction.plots.compare.feel import compared_feel
from keyaction.sim.compare.compare import compare
from keyaction.sim.compare.variants import read_variants
from keyaction.sim.run.run import run

UNITS = ["trade", "si"]
DRAW = {
    "feel": compared_feel,
    "compass": compared_compass,
    "budgets": lambda result, units="trade": compared_budgets(result, result.notes[0], units),
}


@pytest.fixture(scope="module")
def compared(tmp_path_factory):
    """Seven variants, as many as there may be, the last with far more wind."""
    path = write_case(tmp_path_factory.mktemp("compared"))
    rods = ["spruce", "redcedar", "sugar-pine@12x1.5mm", "carbon-rod", "carbon-rod@1mm", "carbon-ud-70"]
    made = read_variants(path, rods)
    heavy = read_variants(path, ["case", "spruce@10x2mm"], ["box.pressure=90 mmH2O"])[1]
    return compare([*made, replace(heavy, letter="G", name="spruce under a good deal more wind than the others have")],
                   "C4,C#4,E4", "C#4", jobs=1)  # fmt: skip


@pytest.mark.one_in(2)
@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("name", DRAW)
@pytest.mark.long
def test_lettering_is_clear(compared, name, units):
    figure = DRAW[name](compared, units=units)
    assert overlaps(figure) == []
    assert outside(figure) == []


@pytest.mark.parametrize("name", DRAW)
def test_every_variant_is_named(compared, name):
    shown = words(DRAW[name](compared))
    for letter in "ABCDEFG":
        assert any(text == letter or text.startswith(f"{letter} ") for text in shown)


@pytest.mark.parametrize("units", UNITS)
def test_the_compass_shows_the_figures_of_the_comparison(compared, units):
    rows = sorted((axes for axes in compared_compass(compared, units).axes if axes.get_ylabel()),
                  key=lambda axes: -axes.get_position().y0)  # fmt: skip
    for axes, (name, _) in zip(rows, PANELS, strict=True):
        variable = compared.variables[name]
        for v in range(7):
            x, y = axes.get_lines()[v].get_xydata().T
            there = np.isfinite(y)
            np.testing.assert_array_equal(x[there], compared["semitone"])
            np.testing.assert_allclose(y[there], convert(variable.data[v], variable.unit, units)[0])


def test_a_pluck_that_can_be_told_is_ringed(compared):
    figure = compared_compass(compared)
    assert "a pluck that can be told from A's" in words(figure)
    top = max((axes for axes in figure.axes if axes.get_ylabel()), key=lambda axes: axes.get_position().y0)
    ringed = [len(line.get_xdata()) for line in top.get_lines()[7:13]]
    assert ringed == [0, 0, 0, 0, 0, 3]
    even = changed(compared, pluck_force_apart=np.zeros_like(compared["pluck_force_apart"]))
    assert "a pluck that can be told from A's" not in words(compared_compass(even))


def test_the_feel_curves_are_those_of_the_comparison(compared):
    whole = compared_feel(compared).axes[0]
    for v in range(7):
        down = whole.get_lines()[2 * v].get_xydata()
        np.testing.assert_allclose(down[:, 0], convert(compared["feel_down_travel"][v].astype(float), "m")[0])
        force = compared["feel_down_force"][v].astype(float)
        np.testing.assert_allclose(down[:, 1], convert(force, "N")[0])


def of_notes(result, rows):
    """A comparison of some of its notes."""
    return changed(
        result,
        **{
            name: np.take(one.data, rows, axis=one.dims.index("note"))
            for name, one in result.variables.items()
            if "note" in one.dims
        },
    )


@pytest.mark.parametrize(("rows", "lines"), [([0], False), ([0, 2], False), ([0, 1], True)])
def test_the_band_is_there_and_marks_are_joined_only_where_notes_are_neighbours(compared, rows, lines):
    few = of_notes(compared, rows)
    figure = compared_compass(few)
    top = max((axes for axes in figure.axes if axes.get_ylabel()), key=lambda axes: axes.get_position().y0)
    band = [(bar.get_x() + bar.get_width() / 2, bar.get_y(), bar.get_y() + bar.get_height()) for bar in top.patches]
    first = convert(few["pluck_force"][0], "N")[0]
    np.testing.assert_allclose(band, np.transpose([few["semitone"], 0.93 * first, 1.07 * first]))
    low, high = top.get_ylim()
    assert low < min(one[1] for one in band) and high > max(one[2] for one in band)
    drawn = [one for axes in figure.axes if axes.get_ylabel() for one in axes.get_lines()[:7]]
    keys = top.get_legend().legend_handles[:7]
    assert all((one.get_linestyle() != "None") is lines for one in (*drawn, *keys))


@pytest.mark.parametrize("units", UNITS)
def test_no_axis_is_finer_than_its_unit_makes_sense_of(compared, units):
    """Seven variants that are one and the same."""
    alike = {name: np.broadcast_to(compared[name][:1], compared[name].shape).copy() for name, _ in PANELS}
    figure = compared_compass(of_notes(changed(compared, **alike), [0]), units)
    rows = sorted((axes for axes in figure.axes if axes.get_ylabel()), key=lambda axes: -axes.get_position().y0)
    least = [(0.1, "N"), (0.2e-3, "m"), (1e-3, "s"), (1.0, "Hz"), (2e-3, "kg"), (0.2e-3, "m")]
    for axes, (span, unit) in zip(rows, least, strict=True):
        assert np.ptp(axes.get_ylim()) >= 0.999 * convert(span, unit, units)[0]


def test_bars_are_as_long_as_the_budget(compared):
    figure = compared_budgets(compared, "E4")
    for axes, kind in zip(figure.axes, ("mass_budget", "compliance_budget"), strict=True):
        unit = "kg" if kind == "mass_budget" else "m"
        lengths = np.zeros(7)
        for bar in axes.patches:
            lengths[round(bar.get_y() + bar.get_height() / 2)] += bar.get_width()
        expected = convert(np.nansum(np.abs(compared[kind][:, 2]), axis=1), unit)[0]
        np.testing.assert_allclose(lengths, expected)


def test_shares_look_as_in_a_run_of_the_same_case_and_every_budget_has_a_key(compared, tmp_path):
    one = run(read_case(write_case(tmp_path)), "C4", jobs=1)
    figures = budgets(one, "C4"), compared_budgets(compared, "C4")
    for axis, alone, beside in zip(("part", "give"), *(figure.axes for figure in figures), strict=False):
        looks = {
            str(name): (bar.get_facecolor(), bar.get_hatch())
            for name, bar in zip(one[axis], alone.patches, strict=True)
        }
        key = beside.get_legend()
        shown = {
            text.get_text(): (patch.get_facecolor(), patch.get_hatch())
            for text, patch in zip(key.get_texts(), key.legend_handles, strict=True)
        }
        assert shown == looks


def test_what_was_not_played_is_a_page_with_its_reason(compared):
    variables = {name: one for name, one in compared.variables.items() if not name.startswith("feel_")}
    told = json.dumps(["failed: too absurd"] * 7)
    figure = compared_feel(replace(compared, variables=variables, about={**compared.about, "curve_status": told}))
    shown = " ".join(words(figure))
    assert "C#4 could not be played" in shown and "A: failed: too absurd" in shown


@pytest.mark.one_in(2)
@pytest.mark.parametrize("name", DRAW)
def test_notes_that_do_not_pluck_leave_a_picture(compared, name):
    gone = {
        figure: np.full_like(compared[figure], np.nan)
        for figure in ("pluck_force", "pluck_point", "speech_delay", "rods_stretch", "compliance_budget")
    }
    figure = DRAW[name](changed(compared, **gone))
    assert overlaps(figure) == []


@pytest.mark.parametrize("name", DRAW)
def test_the_librarys_settings_stay_as_they_were(compared, name):
    before = dict(mpl.rcParams)
    DRAW[name](compared)
    assert dict(mpl.rcParams) == before
