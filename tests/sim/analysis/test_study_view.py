"""What the analysis reads from a study's result, in memory and after a file."""

from dataclasses import replace

import numpy as np
import pytest
from made_up_study import INPUTS, K, made, sobol_points, study

from keyaction.sim.analysis.columns import Input, NotThePlan
from keyaction.sim.analysis.view import NotInStudy, StudyView
from keyaction.sim.files.hdf5 import load, save
from keyaction.sim.files.labelled import Result

C4 = 1


def only(result, rows):
    """The result as it is when only these designs are computed so far."""
    cut = {
        name: replace(v, data=v.data[rows]) if v.dims[:1] == ("design",) else v for name, v in result.variables.items()
    }
    return Result(cut, {**result.about, "designs": str(len(result["design"]))})


def by_name(view, values):
    return {one.name: value for one, value in zip(view.inputs, values, strict=True)}


@pytest.mark.parametrize("plan", ["sobol", "morris", "one-at-a-time", "latin"])
def test_a_file_keeps_no_order_yet_every_figure_belongs_to_its_input(plan, tmp_path):
    result = made(plan, failed=0.0)
    save(result, tmp_path / "study.h5")
    one, other = StudyView(result), StudyView(load(tmp_path / "study.h5"))
    for name in one.quantities:
        here, there = (by_name(view, view.weights(name, C4)) for view in (one, other))
        assert here.keys() == there.keys() == INPUTS.keys()
        for key, weight in here.items():
            assert there[key] == pytest.approx(weight, abs=1e-9)


def test_sobol_indices_are_those_of_the_formulae():
    view = StudyView(study("sobol", sobol_points(2048, K)))
    assert [one.name for one in view.inputs] == list(INPUTS)
    total = by_name(view, view.indices("pluck_force", C4).total.value)
    spring, wind = (0.15 * 2.0) ** 2, (1.4e-3 * 294.2) ** 2  # a plane: shares go by squared slope times range
    assert total["spring.force"] == pytest.approx(spring / (spring + wind), abs=3e-3)
    assert total["wind.pressure"] == pytest.approx(wind / (spring + wind), abs=3e-3)
    assert total["level-tracker.material"] == 0.0
    assert view.screening("pluck_force", C4) is None


def test_columns_of_the_wrong_plan_are_told():
    result = made("latin")
    view = StudyView(Result(result.variables, {**result.about, "plan": "sobol"}))
    with pytest.raises(NotThePlan, match="rows 1 of the base points"):
        _ = view.inputs


def test_an_unfinished_sobol_study_uses_its_whole_base_points():
    result = made("sobol")
    block = K + 2
    rows = np.r_[0 : 3 * block, 5 * block : 9 * block + 3]
    view = StudyView(only(result, rows))
    found = view.indices("opening_time", C4)
    assert (found.used, found.dropped) == (7, 3)
    assert view.waiting == len(result["design"]) - len(rows)


def test_an_unfinished_screening_uses_its_whole_trajectories():
    result = made("morris")
    rows = np.r_[0 : 4 * (K + 1), 6 * (K + 1) + 2 : 9 * (K + 1)]
    found = StudyView(only(result, rows)).screening("pluck_force", C4)
    assert found.effects.tolist() == [6] * K
    effect = by_name(StudyView(result), found.mu.value)
    assert effect["spring.force"] == pytest.approx(0.9 * 0.15 * 2.0)
    assert effect["wind.pressure"] == pytest.approx(0.9 * 1.4e-3 * 294.2)
    assert effect["roller.width"] == pytest.approx(0.0, abs=1e-12)


def test_one_at_a_time_without_its_base_design_falls_back_to_the_plane():
    result = made("one-at-a-time")
    assert not StudyView(result).effects("pluck_force", C4).fitted
    assert StudyView(only(result, np.arange(3, len(result["design"])))).effects("pluck_force", C4).fitted


@pytest.mark.parametrize("plan", ["sobol", "morris", "one-at-a-time", "latin"])
@pytest.mark.parametrize("value", [9.8, np.nan])
def test_nothing_matters_to_a_quantity_that_is_steady_or_missing(plan, value):
    result = made(plan)
    rounding = 1e-15 * np.random.default_rng(0).normal(size=result["pluck_force"].shape)
    steady = replace(result.variables["pluck_force"], data=value + rounding)
    view = StudyView(Result({**result.variables, "pluck_force": steady}, result.about))
    assert np.all(np.isnan(view.weights("pluck_force", C4)))


def test_failed_designs_have_no_values_and_are_counted_by_reason():
    result = made("latin", failed=0.1)
    view = StudyView(result)
    lost = result["status"][:, C4] != "ok"
    assert np.array_equal(np.isnan(view.values("pluck_force", C4)), lost)
    assert view.reasons(C4) == {"the motion left the range of the model or never settled": int(lost.sum())}
    assert view.waiting == 0


def test_a_value_beside_a_failed_status_is_no_value():
    result = made("latin")
    status = result["status"].copy()
    status[7, C4] = "impossible: the roller is wider than its board"
    view = StudyView(
        Result({**result.variables, "status": replace(result.variables["status"], data=status)}, result.about)
    )
    assert np.flatnonzero(np.isnan(view.values("pluck_force", C4))).tolist() == [7]
    assert view.reasons(C4) == {"impossible: the roller is wider than its board": 1}


def test_names_that_are_not_there_are_met_with_the_nearest():
    view = StudyView(made("latin"))
    with pytest.raises(NotInStudy, match="quantity 'pluck_forc' is not in this study; did you mean 'pluck_force'"):
        view.known("pluck_forc")
    with pytest.raises(NotInStudy, match=r"input 'roller\.widht'.*did you mean 'roller\.width'"):
        view.input("roller.widht")
    with pytest.raises(NotInStudy, match=r"'level-tracker\.material' is no quantity and no numeric input"):
        view.figures("level-tracker.material", C4)
    np.testing.assert_array_equal(view.figures("roller.width", C4), view.input("roller.width").values)


@pytest.mark.parametrize(
    ("one", "value", "words"),
    [
        (Input("a", np.array([0.018]), "m"), 0.018, "18 mm"),
        (Input("a", np.array([1.2]), factor=True), 1.2, "× 1.2"),
        (Input("a", np.array([9e9]), "Pa", "modulus"), 9e9, "9 GPa"),
        (Input("a", np.array([np.nan]), "m"), np.nan, "as in the case"),
        (Input("a", np.array(["red-cedar"], dtype=object)), "red-cedar", "red-cedar"),
        (Input("a", np.array([0.018]), "m"), None, "n/a"),
    ],
)
def test_values_of_inputs_in_words(one, value, words):
    assert one.written(value, "trade") == words


def test_a_materials_property_is_shown_as_what_it_is():
    told = '[{"name": "E", "fields": ["materials.sitka-spruce.E"], "unit": "Pa", "factor": false}]'
    result = made("latin")
    column = replace(result.variables["input_wind.pressure"], data=np.linspace(8e9, 1.4e10, len(result["design"])))
    view = StudyView(Result({**result.variables, "input_E": column}, {**result.about, "inputs": told}))
    assert view.inputs[0].name == "E"
    assert view.input("E").shown(1e10, "trade") == (10.0, "GPa")
    assert view.input("wind.pressure").shown(980.665, "trade")[1] == "mmH2O"
