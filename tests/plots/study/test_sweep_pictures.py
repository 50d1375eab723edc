"""Pictures of a study: the figures of the analysis, units on every axis, lettering that can be read."""

import re
from dataclasses import replace

import matplotlib as mpl
import numpy as np
import pytest
from figure_checks import outside, overlaps, texts, words
from made_up_study import DEFINED, K, made, one_at_a_time_points, sobol_points, study
from matplotlib.collections import LineCollection

from keyaction.models.units.quantity import convert, format_value
from keyaction.plots.study import common
from keyaction.plots.study.common import WIDEST
from keyaction.plots.study.morris import morris_scatter
from keyaction.plots.study.parallel import parallel_coordinates
from keyaction.plots.study.pareto import pareto_scatter
from keyaction.plots.study.save import drawings, save_study
from keyaction.plots.study.sobol import sobol_bars
from keyaction.plots.study.surface import leading_pair, response_surfaces
from keyaction.plots.study.tornado import tornado
from keyaction.plots.style.pens import mark
from keyaction.sim.analysis.pareto import pareto_front
from keyaction.sim.analysis.surface import fit_surface
from keyaction.sim.analysis.view import NotInStudy, StudyView
from keyaction.sim.files.labelled import Result

C4 = 1
SENSES = {"pluck_force": "min", "repetition_rate": "max"}
PLAIN = {"pluck_force": "gf", "repetition_rate": "Hz", "opening_time": "ms", "effective_mass": "g"}
SI = {"pluck_force": "N", "repetition_rate": "Hz", "opening_time": "s", "effective_mass": "kg"}


def sobol(result, note, quantities=None, units="trade"):  # noqa: ARG001
    return sobol_bars(result, note, quantities)


def pareto(result, note, quantities=None, units="trade"):  # noqa: ARG001
    return pareto_scatter(result, note, SENSES, units)


def surfaces(result, note, quantities=None, units="trade"):
    return response_surfaces(result, note, quantities, units=units)


ALL = [
    (sobol, "sobol"),
    (tornado, "one-at-a-time"),
    (tornado, "latin"),
    (morris_scatter, "morris"),
    (surfaces, "latin"),
    (parallel_coordinates, "latin"),
    (pareto, "latin"),
]


@pytest.fixture(scope="module")
def studies():
    """A study of each plan, with failed designs."""
    return {plan: made(plan, failed=0.05) for plan in ("sobol", "morris", "one-at-a-time", "latin")}


def changed(result, name, data):
    """The result with another column."""
    return Result({**result.variables, name: replace(result.variables[name], data=data)}, result.about)


def panel(figure, title):
    """The panel with that title."""
    found = [axes for axes in figure.axes if axes.get_title(loc="left") == title]
    assert len(found) == 1
    return found[0]


def key(figure):
    """Texts of the legend under the page's title."""
    return [text for legend in figure.legends for text in legend.get_texts()]


def is_clear(figure):
    """All lettering apart and on the page, that of the key too."""
    assert overlaps(figure) == []
    assert outside(figure) == []
    others = [text for text in texts(figure) if text not in key(figure)]
    for text in key(figure):
        box = text.get_window_extent()
        assert box.x1 < figure.bbox.x1, text.get_text()
        assert not any(box.overlaps(other.get_window_extent()) for other in others), text.get_text()
    return True


# -- every picture -----------------------------------------------------------------------------------------
@pytest.mark.one_in(3)
@pytest.mark.parametrize("units", ["trade", "si"])
@pytest.mark.parametrize(("draw", "plan"), ALL)
def test_lettering_is_clear(draw, plan, units, studies):
    figure = draw(studies[plan], "C4", units=units)
    assert is_clear(figure)


@pytest.mark.one_in(2)
@pytest.mark.parametrize(("draw", "plan"), ALL)
def test_title_study_and_version_stand_on_the_page(draw, plan, studies):
    found = {text.get_gid(): text.get_text() for text in draw(studies[plan], "C4").texts}
    assert "C4" in found["heading"]
    assert found["case"] == studies[plan].title
    assert found["footer"] == "keyaction 0.1.0  |  demo-wood.toml  |  2026-01-02"


@pytest.mark.parametrize(("draw", "plan"), ALL)
def test_nothing_but_failed_designs_is_a_page_with_a_reason(draw, plan):
    shown = " ".join(words(draw(made(plan, failed=1.0), "C4")))
    assert "No design has" in shown


@pytest.mark.parametrize(("draw", "plan"), ALL)
def test_absent_notes_and_quantities_are_named(draw, plan):
    with pytest.raises(KeyError, match=r"D5 is not in this result; it holds C3, C4, C5"):
        draw(made(plan), "D5")
    if draw is not pareto:
        with pytest.raises(NotInStudy, match="'pluck_forc' is not in this study; did you mean 'pluck_force'"):
            draw(made(plan), "C4", ["pluck_forc"])


@pytest.mark.one_in(3)
@pytest.mark.parametrize(("draw", "plan"), ALL)
def test_the_librarys_settings_stay_as_they_were(draw, plan):
    before = dict(mpl.rcParams)
    draw(made(plan), "C4")
    assert dict(mpl.rcParams) == before


@pytest.mark.parametrize(("draw", "plan"), [one for one in ALL if one[0] is not pareto])
def test_a_quantity_that_does_not_vary_says_so_beside_one_that_does(draw, plan):
    result = made(plan)
    result = changed(result, "repetition_rate", np.full_like(result["repetition_rate"], 9.8))
    figure = draw(result, "C4", ["pluck_force", "repetition_rate"])
    shown = " ".join(words(figure)).lower()
    assert re.search("does not vary|no input changes it|9.8 hz", shown)
    assert outside(figure) == []


@pytest.mark.parametrize(("draw", "plan"), [one for one in ALL if one[0] is not pareto])
def test_one_quantity_is_enough(draw, plan):
    assert is_clear(draw(made(plan), "C4", ["opening_time"]))


# -- units -------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(("units", "named"), [("trade", PLAIN), ("si", SI)])
def test_every_axis_has_its_unit(units, named, studies):
    for draw, plan in ((tornado, "latin"), (morris_scatter, "morris"), (surfaces, "latin")):
        figure = draw(studies[plan], "C4", units=units)
        for name, (_, label) in DEFINED.items():
            axes = panel(figure, label.capitalize())
            told = [axes.get_xlabel(), axes.get_ylabel()]
            if draw is surfaces:
                assert all(text.endswith(")") for text in told), told
                told = [axes.get_ylabel() for axes in figure.axes]
            if draw is morris_scatter:
                assert told[1] == f"their spread, sigma ({named[name]})"
            assert any(text.endswith(f"({named[name]})") for text in told), told


@pytest.mark.parametrize(("draw", "plan"), ALL[:5])
def test_a_picture_says_which_share_of_the_quantities_it_draws(studies, monkeypatch, draw, plan):
    def told():
        return [text.get_text() for text in draw(studies[plan], "C4").texts if "quantities" in text.get_text()]

    assert not told()
    monkeypatch.setattr(common, "MOST_PANELS", 2)
    (text,) = told()
    assert text.endswith(f"2 of {len(PLAIN)} quantities; others by name (--quantity)")


def test_sobol_indices_are_per_cent_of_the_variance(studies):
    figure = sobol_bars(studies["sobol"], "C4")
    assert {axes.get_xlabel() for axes in figure.axes} == {"share of the variance (%)"}


def test_front_says_what_is_wanted():
    axes = pareto(made("latin"), "C4").axes[0]
    assert axes.get_xlabel() == "pluck force (gf): less is better"
    assert axes.get_ylabel() == "repetition rate (Hz): more is better"


def test_surfaces_name_their_inputs_with_units():
    axes = panel(response_surfaces(made("latin"), "C4", ["pluck_force"]), "Pluck force")
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("wind.pressure (mmH2O)", "spring.force (gf)")


def test_designs_have_the_ends_of_every_axis():
    shown = words(parallel_coordinates(made("latin"), "C4"))
    for text in ("402 mm", "1399 mm", "carbon-rod", "sitka-spruce", "60 mmH2O"):
        assert text in shown


def test_no_axis_of_the_designs_strikes_through_its_words():
    axes = parallel_coordinates(made("latin"), "C4").axes[0]
    bar = next(line for line in axes.get_lines() if np.ptp(line.get_xdata()) == 0)
    (_, foot), (_, head) = bar.get_transform().transform(bar.get_xydata())
    below = [text.get_window_extent().y1 for text in axes.texts if text.xy[1] < 0]
    above = [text.get_window_extent().y0 for text in axes.texts if text.xy[1] > 1]
    assert len(below) > 4 and len(above) > 4
    apart = 2.5 * axes.figure.dpi / 72
    assert max(below) < foot - apart and min(above) > head + apart


def test_quantities_without_an_axis_among_the_designs_are_named():
    result = made("latin")
    more = {
        f"{name}_{k}": replace(result.variables[name], label=f"{result.variables[name].label} {k}")
        for k in (2, 3)
        for name in ("pluck_force", "repetition_rate")
    }
    names = [*DEFINED, *more]
    figure = parallel_coordinates(Result({**result.variables, **more}, result.about), "C4", names)
    shown = " ".join(words(figure))
    assert "without an axis of their own" in shown
    foot = shown.partition("without an axis of their own: ")[2]
    assert all(more[name].label in foot for name in names[4:])
    assert is_clear(figure)
    assert "without an axis" not in " ".join(words(parallel_coordinates(result, "C4", names[:4])))


# -- figures -----------------------------------------------------------------------------------------------
def test_bars_are_the_indices(studies):
    result = studies["sobol"]
    found = StudyView(result).indices("opening_time", C4)
    axes = panel(sobol_bars(result, "C4", ["opening_time"]), "Opening time")
    order = np.argsort(-found.total.value, kind="stable")
    first, total = (np.array([bar.get_width() for bar in group]) for group in axes.containers[::2])
    np.testing.assert_allclose(first, 100 * found.first.value[order])
    np.testing.assert_allclose(total, 100 * found.total.value[order])
    names = [StudyView(result).inputs[i].name for i in order]
    assert [text.get_text() for text in axes.get_yticklabels()] == names
    lost = f", {found.dropped} left out" if found.dropped else ""
    assert f"{found.used} base points{lost}" in words(axes.figure)


@pytest.mark.parametrize("plan", ["one-at-a-time", "latin"])
def test_bars_of_the_tornado_are_the_effects(plan):
    result = made(plan)
    view = StudyView(result)
    found = view.effects("opening_time", C4)
    axes = panel(tornado(result, "C4", ["opening_time"]), "Opening time")
    swings = np.array([effect.swing for effect in found.effects])
    widest = int(np.argmax(swings))
    top = [bar for bar in axes.patches if bar.get_y() + bar.get_height() / 2 == pytest.approx(0.0)]
    ends = sorted(edge for bar in top for edge in (bar.get_x(), bar.get_x() + bar.get_width()))
    assert ends[0] == pytest.approx(found.effects[widest].low * 1e3)
    assert ends[-1] == pytest.approx(found.effects[widest].high * 1e3)
    assert axes.get_yticklabels()[0].get_text() == view.inputs[widest].name
    shown = words(axes.figure)
    effect = found.effects[widest]
    assert view.inputs[widest].written(effect.at_low, "trade") in shown
    assert ("one at a time" if plan == "latin" else "straight lines") not in " ".join(shown)


def test_settings_that_failed_are_counted_in_the_tornado():
    result = study("one-at-a-time", one_at_a_time_points(K))
    status = result["status"].copy()
    status[[1, 2, 7], C4] = "failed: it never settled"
    shown = words(tornado(changed(result, "status", status), "C4", ["pluck_force"]))
    assert "2 failed" in shown
    assert "1 failed" in shown


def test_markers_are_the_screening():
    result = made("morris")
    found = StudyView(result).screening("opening_time", C4)
    axes = panel(morris_scatter(result, "C4", ["opening_time"]), "Opening time")
    lines = [line for line in axes.get_lines() if line.get_marker() not in ("None", "", "|")]
    dots = {tuple(np.round(line.get_xydata()[0], 9)) for line in lines if line.get_transform() == axes.transData}
    wanted = {
        tuple(np.round(1e3 * np.array(pair), 9)) for pair in zip(found.mu_star.value, found.sigma.value, strict=True)
    }
    assert dots == wanted


def test_dots_of_the_front_are_the_front():
    result = made("latin", failed=0.05)
    view = StudyView(result)
    values = np.column_stack([view.values(name, C4) for name in SENSES])
    front = pareto_front(values, list(SENSES.values()))
    axes = pareto(result, "C4").axes[0]
    drawn = next(line.get_xydata() for line in axes.get_lines() if line.get_label() == "front")
    np.testing.assert_allclose(drawn[:, 0], convert(values[front, 0], "N")[0])
    np.testing.assert_allclose(drawn[:, 1], values[front, 1])
    assert f"{len(front)} that no other beats (numbers: designs)" in words(axes.figure)
    numbers = [text for text in axes.texts if text.get_gid() == "number"]
    assert {str(view.rows[row]) for row in front} == {text.get_text() for text in numbers}
    for text in numbers:
        row = list(view.rows).index(int(text.get_text()))
        assert text.xy == (pytest.approx(convert(values[row, 0], "N")[0]), pytest.approx(values[row, 1]))


def test_nothing_but_data_is_drawn_among_the_data_of_a_front():
    """Lines of the panel are the front's dots and steps, within the front's ends."""
    axes = pareto(made("latin"), "C4").axes[0]
    dots = next(line for line in axes.get_lines() if line.get_label() == "front").get_xydata()
    for line in axes.get_lines():
        x, y = line.get_xydata().T
        assert dots[:, 0].min() <= x.min() and x.max() <= dots[:, 0].max()
        assert dots[:, 1].min() <= y.min() and y.max() <= dots[:, 1].max()


def test_three_quantities_are_three_panels():
    figure = pareto_scatter(made("latin"), "C4", {**SENSES, "roller.width": "min"})
    assert len(figure.axes) == 3
    assert overlaps(figure) == []
    with pytest.raises(ValueError, match="two quantities or more"):
        pareto_scatter(made("latin"), "C4", {"pluck_force": "min"})


def test_the_surface_is_the_fit_and_tells_its_error():
    result = made("latin")
    view = StudyView(result)
    first, second = (view.input(name) for name in leading_pair(view, "opening_time", C4))
    assert (first.name, second.name) == ("riser-and-drop.length", "roller.width")
    others = [one.values for one in view.inputs if one.name not in (first.name, second.name)]
    surface = fit_surface(first.values, second.values, view.values("opening_time", C4), others)
    shown = " ".join(words(response_surfaces(result, "C4", ["opening_time"])))
    assert f"{surface.method}; on designs kept out: error {1e3 * surface.error:.2g} ms" in shown


NO_SURFACE = {
    "few": lambda result: cut(result, 6),
    "noise": lambda result: changed(result, "pluck_force", np.random.default_rng(1).random((400, 3))),
    "line": lambda _: study("latin", np.column_stack([np.linspace(0, 1, 40)] * K)),
}


@pytest.mark.parametrize("why", NO_SURFACE)
def test_where_there_is_no_surface_the_designs_are_drawn_in_the_colour_of_their_value(why):
    result = NO_SURFACE[why](made("latin"))
    axes = panel(response_surfaces(result, "C4", ["pluck_force"]), "Pluck force")
    dots = next(one for one in axes.collections if one.get_label() == "designs in the colour of their value")
    values = StudyView(result).values("pluck_force", C4)
    np.testing.assert_allclose(dots.get_array(), convert(values, "N")[0])
    assert "no surface, each design by itself" in " ".join(words(axes.figure))
    assert is_clear(axes.figure)


def test_designs_without_a_value_are_counted_above_the_surface():
    result = made("latin", failed=0.05)
    lost = int(np.isnan(StudyView(result).values("pluck_force", C4)).sum())
    assert f"{lost} of 400 designs have no value" in " ".join(words(response_surfaces(result, "C4", ["pluck_force"])))


def test_designs_without_a_value_are_crosses_on_the_surface():
    result = made("latin", failed=0.05)
    lost = int(np.isnan(StudyView(result).values("pluck_force", C4)).sum())
    axes = panel(response_surfaces(result, "C4", ["pluck_force"]), "Pluck force")
    crosses = next(line for line in axes.get_lines() if line.get_label() == "designs without a value")
    assert len(crosses.get_xdata()) == lost


def cut(result, count):
    """The first designs only."""
    return Result(
        {
            name: replace(v, data=v.data[:count]) if v.dims[:1] == ("design",) else v
            for name, v in result.variables.items()
        },
        result.about,
    )


def test_too_few_designs_for_a_surface_say_so():
    few = cut(made("latin"), 6)
    assert "6 designs with a value are too few" in " ".join(words(response_surfaces(few, "C4", ["pluck_force"])))


def test_an_input_keeps_mark_and_colour_from_panel_to_panel(studies):
    figure = morris_scatter(studies["morris"], "C4")
    looks: dict[str, set] = {}
    for axes in figure.axes:
        names = sorted((text for text in axes.texts if text.get_gid() == "mark"), key=lambda t: t.get_position()[1])
        beside = [line for line in axes.get_lines() if line.get_marker() not in ("None", "", "|")
                  and line.get_transform() == axes.transAxes]  # fmt: skip
        for text, line in zip(names, sorted(beside, key=lambda one: one.get_ydata()[0]), strict=True):
            looks.setdefault(text.get_text(), set()).add((line.get_marker(), line.get_color()))
    assert all(len(found) == 1 for found in looks.values()), looks
    assert len({next(iter(found)) for found in looks.values()}) == len(looks) == K


def test_no_two_of_many_inputs_have_one_mark():
    marks = [mark(i) for i in range(49)]
    assert len({(one.color, one.marker) for one in marks}) == 49


def test_designs_are_few_enough_to_follow_and_counted():
    result = made("latin", failed=0.05)
    figure = parallel_coordinates(result, "C4")
    values = StudyView(result).values("pluck_force", C4)
    drawn = [one for one in figure.axes[0].collections if isinstance(one, LineCollection)]
    assert sum(len(one.get_segments()) for one in drawn) <= 210
    there, lost = np.isfinite(values).sum(), np.isnan(values).sum()
    low = np.sort(values[np.isfinite(values)])[: round(there / 10)]
    shown = " ".join(text.get_text() for text in key(figure))
    assert f"lowest pluck force, up to {format_value(low[-1], 'N')}: {len(low)}, 30 of them drawn" in shown
    assert f"without a value: {lost}" in shown
    assert f"other designs: {there - 2 * len(low)}, 120 of them drawn" in shown
    dashes = {str(one.get_linestyle()) for one in drawn[-3:]}
    assert len(dashes) == 3


@pytest.mark.parametrize("draw", [tornado, surfaces, parallel_coordinates])
def test_no_page_is_wider_than_a_screen(draw):
    """28 inputs with long names, as of a study of tolerances."""
    result = made("latin")
    long = [f"input_level-tracker-{i:02d}.end_stiffness" for i in range(23)]
    more = dict.fromkeys(long, result.variables["input_spring.force"])
    figure = draw(Result({**result.variables, **more}, result.about), "C4")
    assert figure.get_figwidth() <= WIDEST
    assert outside(figure) == []


@pytest.mark.parametrize(
    ("draw", "plan", "wanted"), [(sobol, "latin", "'sobol' does"), (morris_scatter, "latin", "'morris' does")]
)
def test_a_picture_that_the_plan_does_not_give_says_which_does(draw, plan, wanted):
    assert wanted in " ".join(words(draw(made(plan), "C4")))


def test_many_inputs_are_cut_to_those_that_matter_most():
    result = study("sobol", sobol_points(16, K))
    more = {f"input_extra.{i}": result.variables["input_spring.force"] for i in range(20)}
    result = Result({**result.variables, **more}, {**result.about, "plan": "random"})
    figure = tornado(result, "C4", ["pluck_force"])
    assert "the 14 of 25 inputs that matter most" in words(figure)
    assert is_clear(figure)


def test_long_names_of_choices_have_room():
    result = made("latin")
    long = {
        "carbon-rod": "aluminium tube 12 x 1 mm",
        "red-cedar": "spruce 28 mm square",
        "sitka-spruce": "steel tube 10 x 1 mm",
    }
    data = np.array([long[name] for name in result["input_level-tracker.material"]], dtype=object)
    result = changed(result, "input_level-tracker.material", data)
    for draw in (tornado, parallel_coordinates):
        figure = draw(result, "C4", ["opening_time", "repetition_rate"])
        assert is_clear(figure)
        assert "aluminium tube 12 x 1 mm" in words(figure)


# -- files -------------------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("plan", "names"),
    [
        ("sobol", ["designs", "pareto", "sobol", "surfaces", "tornado"]),
        ("morris", ["designs", "morris", "pareto", "surfaces", "tornado"]),
        ("one-at-a-time", ["pareto", "tornado"]),
        ("latin", ["designs", "pareto", "surfaces", "tornado"]),
    ],
)
def test_each_plan_has_its_pictures(plan, names):
    assert sorted(drawings(made(plan), "C4", None, SENSES, "trade")) == [f"{name}.png" for name in names]
    assert "pareto.png" not in drawings(made(plan), "C4", None, {}, "trade")


def test_pictures_are_written_whole(tmp_path):
    written = save_study(made("one-at-a-time"), tmp_path / "new", "C4", ["pluck_force"], SENSES)
    assert sorted(path.name for path in written) == ["pareto.png", "tornado.png"]
    assert sorted(path.name for path in (tmp_path / "new").iterdir()) == ["pareto.png", "tornado.png"]
    assert all(path.read_bytes().startswith(b"\x89PNG") for path in written)


def test_a_folder_that_cannot_be_made_is_named(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(OSError, match=r"file.*pictures cannot be written"):
        save_study(made("one-at-a-time"), tmp_path / "file", "C4")
