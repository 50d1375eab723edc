"""Pictures of coupled keys: keys alone behind, plucks by division, branches, budgets by trains, over the compass."""

import numpy as np
import pytest
from coupled_runs import RENAMED, WINDLESS, coupled_run
from figure_checks import changed, failed, legend, line, outside, overlaps, texts, words

from keyaction import plots
from keyaction.plots.note.courses import box_pressure, several_pallets
from keyaction.plots.note.plucks import plucks
from keyaction.plots.note.stations import stations
from keyaction.plots.save import save_all
from keyaction.plots.style.shares import part_fills
from keyaction.plots.style.trains import joined_trains

GF = 9.80665e-3
OF_NOTE = [plots.feel_curve, plots.slow_press, plots.stroke, plots.stroke_path, plots.budgets]
OF_COMPASS = [plots.compass, plots.budgets_compass, plots.coupled_compass]
EDGES = {
    "three": {},
    "held": {"notes": "great/C4", "drawn": "II/I", "held": "II"},
    "windless": {"notes": "great/C4", "drawn": "II/I", "changes": WINDLESS},
    "long": {"notes": "great/C4", "changes": RENAMED},
    "nothing": {"notes": "great/G4", "drawn": "II/I 6"},
}


@pytest.fixture(scope="module")
def edges(tmp_path_factory):
    """Coupled results by what is odd of them, each made when first asked for."""
    made = {}

    def one(name):
        if name not in made:
            made[name] = coupled_run(tmp_path_factory.mktemp(name), **EDGES[name])["great"]
        return made[name]

    return one


@pytest.fixture(scope="module")
def three(edges):
    return edges("three")


@pytest.mark.one_in(3)
@pytest.mark.parametrize("units", ["trade", "si"])
@pytest.mark.parametrize("name", list(EDGES))
@pytest.mark.parametrize("draw", OF_NOTE + OF_COMPASS)
@pytest.mark.long
def test_lettering_is_clear(draw, name, units, edges):
    result = edges(name)
    figures = [draw(result, units)] if draw in OF_COMPASS else [draw(result, note, units) for note in result.notes]
    for figure in figures:
        assert overlaps(figure) == []
        assert outside(figure) == []


@pytest.mark.parametrize("draw", OF_COMPASS)
def test_a_failed_note_among_coupled_ones(draw, three):
    figure = draw(failed(three, [1]))
    assert overlaps(figure) == []
    assert "could not be played" in words(figure)


# -- feel curve ------------------------------------------------------------------------------------------
def test_the_key_alone_lies_behind(three):
    axes = plots.feel_curve(three, "C4").axes[0]
    found = line(axes, "the same key alone")
    np.testing.assert_allclose(found[:, 0], 1e3 * three["alone_down_travel"][0], rtol=1e-6)
    np.testing.assert_allclose(found[:, 1], three["alone_down_force"][0] / GF, rtol=1e-6)
    orders = {one.get_label(): one.get_zorder() for one in axes.get_lines()}
    assert orders["the same key alone"] < orders["slow, down"]
    assert "the same key alone" in legend(axes)


def test_each_pluck_is_marked_and_named(three):
    found = plucks(three, 0)
    assert [one.label for one in found] == ["great", "II", "II, 4 semitones up"]
    assert [one.point for one in found] == sorted(one.point for one in found)
    axes = plots.feel_curve(three, "C4").axes[0]
    marked = {tuple(one.get_xydata()[0]) for one in axes.get_lines() if len(one.get_xydata()) == 1}
    assert {(round(1e3 * one.point, 9), round(one.peak / GF, 9)) for one in found} == {
        (round(x, 9), round(y, 9)) for x, y in marked
    }
    shown = words(plots.feel_curve(three, "C4"))
    assert f"II plucks {1e3 * found[1].point:.3g} mm" in shown
    assert "pluck point" not in " ".join(shown)


def test_plucks_at_one_point_are_one(three):
    together = changed(three, pallets_pluck_point=np.array([[2e-3, 2e-3, 3e-3]] * 2))
    assert [one.label for one in plucks(together, 0)] == ["great and II", "II, 4 semitones up"]


def test_an_uncoupled_feel_curve_is_as_it_was(played):
    assert plucks(played, 0) == []
    axes = plots.feel_curve(played, "C4").axes[0]
    assert "the same key alone" not in legend(axes)
    assert "pluck point" in " ".join(words(plots.feel_curve(played, "C4")))


# -- stroke ----------------------------------------------------------------------------------------------
def test_every_pallet_and_groove_is_drawn(three):
    pallet, groove = (plots.stroke(three, "C4").axes[i] for i in (1, 3))
    for i, name in enumerate(("great", "II", "II, 4 semitones up")):
        np.testing.assert_allclose(line(pallet, name)[:, 1], 1e3 * three["pallets_course"][0, i], rtol=1e-5, atol=1e-6)
        box = box_pressure(three, 0, str(three["pallet"][i]))
        np.testing.assert_allclose(
            line(groove, name)[:, 1], 100 * three["pallets_pressure"][0, i] / box, rtol=1e-5, atol=1e-5
        )


def test_the_axis_of_several_pallets_says_that_it_is_the_gap_to_the_seat(three):
    axes = plots.stroke(three, "C4").axes[1]
    assert axes.get_ylabel() == "gap under each pallet,\nbelow 0 seated (mm)"
    assert max(line(axes, name)[0, 1] for name in ("great", "II")) < 0


def test_each_groove_is_a_share_of_its_own_box(three):
    """The first division has 80 mm of wind in the small instrument, the second its case's own."""
    known = dict(zip(three["figure"], three["figures"][0], strict=True))
    boxes = {
        str(part): known[name]
        for name, part, what in zip(three["figure"], three["figure_part"], three["figure_what"], strict=True)
        if what == "p_box"
    }
    assert box_pressure(three, 0, "pallet") == boxes["box"] != boxes["ii-box"] == box_pressure(three, 0, "ii-pallet")
    assert box_pressure(three, 0, "ii-up-4-pallet") == boxes["ii-up-4-box"]
    assert [float(one.share[len(one.share) // 3]) for one in several_pallets(three, 0)] == pytest.approx(
        [1.0] * 3, abs=0.05
    )


# -- path ------------------------------------------------------------------------------------------------
def test_driven_trains_branch_off_where_their_couplers_take_hold(three):
    found = stations(three, 0)
    names = [one.name for one in found]
    assert names == [
        "finger", "key", "pallet", "groove",
        "coupler-ii-i", "key", "pallet", "groove",
        "key", "pallet", "groove",
    ]  # fmt: skip
    assert [one.strand for one in found] == ["", "", "", "", "II", "", "", "", "II, 4 semitones up", "", ""]
    assert [one.before for one in found] == [-1, 0, 1, 2, 1, 4, 5, 6, 1, 8, 9]
    assert found[8].link == "coupler-ii-i-6"  # a hook has no body of its own
    bodies = list(three["body"])
    for place, body in ((5, "ii-key"), (9, "ii-up-4-pallet")):
        ratio = three["body_ratio"][0, bodies.index(body)]
        np.testing.assert_allclose(found[place].way, three["motion"][0, bodies.index(body)] / ratio)


def test_grooves_of_branches_arrive_as_their_figures_say(three):
    found, start = stations(three, 0), next(one for one in stations(three, 0) if one.name == "key").down
    grooves = [one for one in found if one.groove]
    for one, opens, speaks in zip(
        grooves, three["pallets_opening_time"][0], three["pallets_speech_delay"][0], strict=True
    ):
        assert one.down - start == pytest.approx(opens, abs=1e-4)
        assert one.full - start == pytest.approx(speaks, abs=1e-4)


def test_branches_are_lines_of_their_own(three):
    axes = next(axes for axes in plots.stroke_path(three, "C4").axes if axes.get_xlabel())
    assert len(line(axes, "_path")) == 4
    assert len(line(axes, "_path 1")) == 4
    assert len(line(axes, "_path 2")) == 3
    shown = [text.get_text() for text in texts(plots.stroke_path(three, "C4"))]
    assert "II" in shown
    assert "II, 4 semitones up" in shown


def test_a_note_with_fewer_trains_than_others_has_its_path(three):
    assert [one.strand for one in stations(three, 1) if one.strand] == ["II"]


def test_a_train_that_another_hand_holds_is_no_branch(edges):
    assert [one.name for one in stations(edges("held"), 0)] == ["finger", "key", "pallet", "groove", "coupler-ii-i"]


def test_two_pallets_of_one_key_are_branches_of_one_train():
    from trees import two_pallets

    from keyaction.cases.action.reader import read_case
    from keyaction.sim.motion.integrate import Tolerances
    from keyaction.sim.run.about import about
    from keyaction.sim.run.assemble import assemble
    from keyaction.sim.run.note import play_note

    case = read_case("demo-wood")
    result = assemble(case, [play_note(60, two_pallets(), case.strokes)], about(case, Tolerances()))
    assert [one.strand for one in stations(result, 0) if one.strand] == ["pallet-2"]
    assert [one.label for one in plucks(result, 0)] == ["pallet and pallet-2"]
    assert joined_trains(result) == []
    for draw in OF_NOTE:
        assert overlaps(draw(result, "C4")) == []
    assert "alone" not in legend(plots.compass(result).axes[1])


# -- budgets ---------------------------------------------------------------------------------------------
def test_masses_stand_by_trains_and_add_up(three):
    trains = joined_trains(three)
    assert [one.label for one in trains] == ["great", "II", "II, 4 semitones up", "couplers"]
    assert [one.prefix for one in trains[:3]] == ["", "ii-", "ii-up-4-"]
    assert sorted(part for one in trains for part in one.parts) == sorted(three["part"])
    parts = list(three["part"])
    whole = three.value("effective_mass", "C4")
    shown = words(plots.budgets(three, "C4"))
    for one in trains:
        together = sum(np.nan_to_num(three["mass_budget"][0, parts.index(part)]) for part in one.parts)
        head = next(text for text in shown if text.startswith(f"{one.label}: ") and text.endswith("%"))
        assert head.endswith(f"{100 * together / whole:.1f} %")


def test_uncoupled_results_have_no_trains(played):
    assert joined_trains(played) == []


def test_driven_parts_look_as_the_like_of_the_played_train(three):
    fills = part_fills(three)
    assert fills["ii-key"].color == fills["key"].color
    assert fills["ii-pallet"].color == fills["pallet"].color
    assert len({fills[name].hatch for name in ("key", "ii-key", "ii-up-4-key")}) == 3


def test_the_compass_stacks_each_driven_train_as_one(three):
    axes = plots.budgets_compass(three).axes[1]
    assert {"II", "II, 4 semitones up", "couplers", "key", "pallet"} <= set(legend(axes))
    assert "ii-key" not in legend(axes)
    high = {}
    for bar in axes.patches:
        middle = round(bar.get_x() + bar.get_width() / 2)
        high[middle] = max(high.get(middle, 0.0), bar.get_y() + bar.get_height())
    assert [high[60], high[67]] == pytest.approx(list(1e3 * three["effective_mass"]))


# -- over the compass ------------------------------------------------------------------------------------
def test_peaks_of_all_pallets_with_the_keys_alone_behind(three):
    axes = plots.coupled_compass(three).axes
    panel = next(one for one in axes if one.get_ylabel() == "peak at its pluck (gf)")
    for i, name in enumerate(("great", "II", "II, 4 semitones up")):
        np.testing.assert_allclose(line(panel, name)[[0, -1], 1], three["pallets_pluck_force"][:, i] / GF)
    alone = (three["pluck_force"] - three["added_pluck"]) / GF
    np.testing.assert_allclose(line(panel, "alone")[[0, -1], 1], alone)
    first = next(one for one in plots.compass(three).axes if one.get_ylabel() == "pluck force (gf)")
    np.testing.assert_allclose(line(first, "alone")[[0, -1], 1], alone)


def test_the_most_that_is_usual_is_shown_where_it_is_near(three):
    panel = plots.coupled_compass(three).axes[1]
    assert "most that is usual, coupled" not in legend(panel)
    heavy = plots.coupled_compass(changed(three, pluck_force=np.array([3.8, 2.0]))).axes[1]
    assert line(heavy, "most that is usual, coupled")[0, 1] == pytest.approx(400)


def test_an_uncoupled_result_says_so(played):
    assert "No key of this result opens several pallets." in words(plots.coupled_compass(played))


def test_files(three, played, tmp_path):
    coupled = {path.name for path in save_all(three, tmp_path / "coupled", ["C4"])}
    alone = {path.name for path in save_all(played, tmp_path / "alone", ["C4"])}
    assert coupled - alone == {"coupled.png"}
