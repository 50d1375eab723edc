"""keyaction run --spread and check --spreads: what is said, what is kept, what is refused."""

import json
from dataclasses import replace

import numpy as np
import pytest
from figure_checks import outside, overlaps, words
from short_case import write_case

from keyaction import with_spread
from keyaction.cases.action.reader import read_case
from keyaction.models.units.quantity import format_value
from keyaction.plots import compass, feel_curve, slow_press
from keyaction.plots.style.page import shown
from keyaction.sim.commands.spread_tables import spread_lines
from keyaction.sim.files.hdf5 import load
from keyaction.sim.files.labelled import Result
from keyaction.sim.run.shape import no_run


@pytest.fixture(scope="module")
def case_folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("spread")
    write_case(folder, more='\n[spreads]\npallet.sealing_margin = { common = "1 mm", form = "even" }\n')
    return folder


@pytest.fixture
def drawn(case_folder, keyaction, monkeypatch):
    """A run with twelve draws, made once."""
    monkeypatch.chdir(case_folder)
    if not (case_folder / "short.h5").exists():
        arguments = ("--notes", "C4:D4", "--jobs", "1", "--spread", "12", "--plots", "pictures")
        said = keyaction("run", "short.toml", *arguments)
        assert said.status == 0, said.err
        (case_folder / "said.txt").write_text(said.out)
    return load("short.h5"), (case_folder / "said.txt").read_text()


def edges(result, note):
    low, _, high = result["pluck_force_spread"][result.index(note)]
    return f"{format_value(float(low), 'N')} to {format_value(float(high), 'N')}"


def test_the_command_names_three_inputs_and_tells_of_neighbours(drawn):
    result, told = drawn
    text = " ".join(told.split())
    assert "12 draws of all that is uncertain (seed 1)" in text
    assert "C4: pluck" in text
    assert "of its variance comes from pallet.sealing_margin" in text
    assert "of all steps exceed 7%" in text
    assert "edges of the pluck force: off by" in text and "one standard error, as these 12 draws scatter" in text
    assert "12 draws are few: with a probability of 54% all of them lie above the true 5 % edge" in text  # 0.95**12
    deviation = format_value(result.value("pluck_force_deviation", "C4"), "N")
    assert f"C4: pluck {edges(result, 'C4')}, standard deviation of the draws {deviation}; of its variance" in text
    assert "one input at a time, no draws: " in text
    assert all(len(line) <= 80 for line in told.splitlines())
    assert json.loads(result.about["spread"]) == {"draws": 12, "seed": 1, "without": []}


def test_the_file_holds_bands_and_what_they_come_from(drawn):
    result, _ = drawn
    low, middle, high = result["pluck_force_spread"].T
    assert np.all(low < middle)
    assert np.all(middle < high)
    assert np.all((low < result["pluck_force"]) & (result["pluck_force"] < high))
    assert result["speech_delay_spread"].shape == (3, 3)
    assert "repetition_rate_spread" not in result
    assert np.isnan(result["step_felt"][0])
    assert np.all(result["steps_known"] == 2)
    assert result["steps_felt"].sum() == round(12 * np.nansum(result["step_felt"]))
    assert np.all(result["sound_share"] == 1.0)
    assert list(result["spread_note"]) == ["C4"]
    force, way = result["feel_down_band"][0], result["band_travel"][0]
    before = way < 0.5e-3
    assert np.all(force[0, before] <= force[2, before])
    shares = result["pluck_force_common"] ** 2 + result["pluck_force_own"] ** 2
    assert result["spread_input"][np.argmax(shares[0])] == "pallet.sealing_margin"
    # First order and what was drawn: twelve draws tell a standard deviation to a fifth.
    width = (high - low)[0] / np.sqrt(shares.sum())
    assert 1.5 < width < 5.0


def test_the_deviation_and_the_errors_are_of_the_same_draws_as_the_band(drawn):
    result, _ = drawn
    low, _, high = result["pluck_force_spread"].T
    deviation, error = result["pluck_force_deviation"], result["pluck_force_spread_error"]
    # Of 12 draws the range between those edges is some 2.2 to 3.6 standard deviations of the same draws.
    assert np.all((high - low) / deviation > 2.0) and np.all((high - low) / deviation < 3.6)
    assert error.shape == (3, 3) and np.all(error > 0.05 * deviation[:, None])
    assert np.all(error < deviation[:, None])


def test_enough_draws_are_not_called_few(drawn):
    result, _ = drawn
    more = Result(result.variables, {**result.about, "spread": json.dumps({"draws": 59, "seed": 1, "without": []})})
    assert "are few" not in " ".join(spread_lines(more, "trade"))
    assert "few" not in " ".join(words(feel_curve(more, "C4")))
    assert "12 draws are few" in " ".join(" ".join(words(feel_curve(result, "C4"))).split())


def test_the_work_lost_has_the_colour_of_its_legend_over_a_band(drawn):
    figure = feel_curve(drawn[0], "C4")
    axes = figure.axes[0]
    (lost,) = [one for one in axes.patches if "work lost" in str(one.get_label())]
    (band,) = [one for one in axes.collections if "draws" in str(one.get_label())]
    assert lost.get_alpha() in (None, 1.0) and lost.get_facecolor()[3] == 1.0
    assert lost.get_zorder() > band.get_zorder()
    assert band.get_facecolor()[0][3] == 1.0


def test_a_bar_shows_where_the_draws_pluck(drawn):
    result, _ = drawn
    (bar,) = [one for one in feel_curve(result, "C4").axes[0].lines if one.get_label() == "_bar"]
    wanted, _ = shown(result["pluck_point_spread"][0][[0, -1]], "m", "trade")
    assert bar.get_xdata() == pytest.approx(wanted)


def test_show_tells_it_again_and_pictures_have_bands(drawn, keyaction, case_folder):
    _, told = drawn
    said = keyaction("show", "short.h5")
    assert said.status == 0
    assert told[told.index("12 draws") :].split("result:")[0].split() == said.out[said.out.index("12 draws") :].split()
    assert (case_folder / "pictures" / "feel-C4.png").exists()


def test_bands_are_drawn_and_their_lettering_is_clear(drawn):
    result, _ = drawn
    for figure in (feel_curve(result, "C4"), slow_press(result, "C4", units="si"), compass(result)):
        assert overlaps(figure) == []
        assert outside(figure) == []
    assert "5 to 95 % of 12 draws" in " ".join(words(compass(result)))
    assert "drawn: " in " ".join(words(compass(result)))
    assert "(12 are few)" in " ".join(words(compass(result)))
    (band, *_) = [one for one in feel_curve(result, "C4").axes[0].collections if "draws" in str(one.get_label())]
    edges = band.get_paths()[0].vertices
    at, _ = shown(result["band_travel"][0], "m", "trade")
    wanted, _ = shown(result["feel_down_band"][0], "N", "trade")
    assert np.nanmax(edges[:, 1]) == pytest.approx(np.nanmax(wanted), rel=1e-6)
    assert np.nanmax(edges[:, 0]) == pytest.approx(at[np.isfinite(wanted[0])][-1], rel=1e-6)
    # A note without a band of its own is drawn without one.
    assert not [one for one in feel_curve(result, "D4").axes[0].collections if "draws" in str(one.get_label())]


@pytest.mark.parametrize("name", ["pluck_force_spread", "steps_felt", "feel_down_band", "spread_input", "quantile"])
def test_a_damaged_spread_is_no_result(drawn, name):
    result, _ = drawn
    assert no_run(result) == ""
    lacking = {other: one for other, one in result.variables.items() if other != name}
    said = no_run(Result(lacking, result.about))
    assert name in said
    odd = {**result.variables, name: replace(result.variables[name], dims=("note",) * 2)}
    assert name in no_run(Result(odd, result.about))
    assert "spread" in no_run(Result(result.variables, {**result.about, "spread": "[]"}))


@pytest.mark.long
def test_the_same_seed_gives_the_same_spread_in_python(drawn, case_folder):
    result, _ = drawn
    case = read_case(case_folder / "short.toml")
    again = with_spread(result, case, draws=12)
    for name in ("pluck_force_spread", "feel_down_band", "pluck_force_own", "steps_felt"):
        assert np.array_equal(again[name], result[name], equal_nan=True), name
    other = with_spread(result, case, draws=12, seed=2)
    assert not np.array_equal(other["pluck_force_spread"], result["pluck_force_spread"])


def test_what_cannot_be_drawn_is_refused(drawn, keyaction, case_folder, tmp_path):
    result, _ = drawn
    for number in ("1", "0", "-3", "10001"):
        said = keyaction("run", "short.toml", "--spread", number)
        assert (said.status, said.err.strip()) == (2, f"--spread {number}: 2 to 10000 draws are possible")
    assert keyaction("run", "short.toml", "--spread", "many").status == 2
    with pytest.raises(ValueError, match="2 to 10000"):
        with_spread(result, read_case(case_folder / "short.toml"), draws=1)
    with pytest.raises(ValueError, match="not of this case"):
        with_spread(result, read_case(write_case(tmp_path)), draws=2)


def test_stopped_while_drawing_the_plain_figures_are_kept(keyaction, folder, monkeypatch):  # noqa: ARG001
    import keyaction.sim.spread.spread as module

    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(module, "draw", stopped)
    said = keyaction("run", "short.toml", "--notes", "C4", "--jobs", "1", "--spread", "3")
    assert said.status == 130
    assert "short.h5 holds the figures without their spread" in said.err
    assert "pluck_force" in load("short.h5")
    assert "quantile" not in load("short.h5")


def test_check_lists_every_spread_with_its_source(keyaction, folder):  # noqa: ARG001
    said = keyaction("check", "short.toml", "--spreads")
    text = " ".join(said.out.split())
    assert said.status == 0
    assert "pallet.sealing_margin 1.5 mm 0.3 mm" in text
    assert "box.temperature 5 K -" in text
    assert "box.humidity 15 % RH -" in text and "box.atmosphere 15 hPa -" in text
    assert "Niemz" in text
    assert all(len(line) <= 80 for line in said.out.splitlines())
    said = keyaction("check", "--spreads")
    assert said.status == 2
    assert "a case is needed" in said.err
