"""Searches of real actions: against a calculation by hand, all designs, their own cases, themselves stopped."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.ndimage import zoom
from small_search import ARM, SPRING, TIMES, WIRE, data, grid_by_hand, pin_search, short_search

from keyaction.cases.action.reader import read_case
from keyaction.cases.study.search import DESIGNS, GENERATIONS
from keyaction.cases.text.defects import CaseProblem
from keyaction.sim.analysis.pareto import pareto_front
from keyaction.sim.files.begun import Refused
from keyaction.sim.files.hdf5 import load
from keyaction.sim.run.run import run
from keyaction.sim.search.driver import drive
from keyaction.sim.search.folder import GENERATIONS as KEPT
from keyaction.sim.search.folder import RESULTS, SEARCH
from keyaction.sim.search.hypervolume import hypervolume
from keyaction.sim.search.load import load_search
from keyaction.sim.search.looking import Engine
from keyaction.sim.search.offers import offers
from keyaction.sim.search.optimiser import Axis, Everything, Evolution, axis_of
from keyaction.sim.search.prices import price_of_design, prices_of, rods_of
from keyaction.sim.search.scores import score
from keyaction.sim.search.search import run_search
from keyaction.sim.sweep.designs import make_design


@pytest.fixture(scope="module")
def grid():
    """All designs of a grid of the direct pin action, as the lanes play them: search, positions, scores."""
    search, recipe = pin_search(SPRING, ARM, aims=["pluck_force", "closing_force"], limits=["none"])
    rows = Everything([axis_of(*pair) for pair in zip(recipe.inputs, recipe.own, strict=True)], 100).ask()
    return search, rows, score(search, Engine(search, recipe, jobs=1).look(rows))


def test_the_front_is_that_of_a_calculation_by_hand(grid):
    _, _, scores = grid
    hand = grid_by_hand(np.linspace(1.6, 2.8, 3), np.linspace(0.104, 0.120, 2))
    assert scores.aims == pytest.approx(hand, rel=5e-4)  # as far as the hand goes, as in tests/physics
    exact = pareto_front(hand, ["min", "max"])
    assert sorted(exact.tolist()) == [0, 2, 4]  # any spring, over the shortest arm
    assert sorted(pareto_front(scores.aims, ["min", "max"]).tolist()) == sorted(exact.tolist())
    assert np.all(scores.short == 0.0)


def test_the_search_reaches_the_front_of_all_designs(grid):
    """All designs of a finer grid, between those that were played: 425, of which it sees 96."""
    search, _, scores = grid
    costs = zoom(scores.costs(search.aims).reshape(3, 2, 2), (25 / 3, 17 / 2, 1), order=1, grid_mode=False)
    costs = costs.reshape(25 * 17, 2)

    def look(_, asked):
        found = np.round(asked * [24, 16]).astype(int) @ [17, 1]
        return costs[found], np.zeros(len(asked))

    *_, last = drive(Evolution([Axis(25), Axis(17)], 2, 12, seed=1), look, 8)
    exact, reference = costs[pareto_front(costs, ["min", "min"])], costs.max(axis=0)
    assert hypervolume(last.front, reference) > 0.95 * hypervolume(exact, reference)


# -- from beginning to end ----------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def found(tmp_path_factory):
    """A finished search of the short case, two offered designs at most: folder, search, recipe, what was found."""
    folder = tmp_path_factory.mktemp("searched")
    search, recipe = short_search(folder)
    return folder, search, recipe, run_search(search, folder / "out", jobs=1, most=2)


def test_every_offered_figure_is_that_of_a_run_of_its_case(found, tmp_path):
    folder, _, _, one = found
    assert len(one.offers.kept) == 2
    for offer in one.offers.kept:
        (tmp_path / "short.toml").write_text(offer.text, encoding="utf-8")
        (tmp_path / "chest.csv").write_text((folder / "chest.csv").read_text(encoding="utf-8"), encoding="utf-8")
        case = read_case(tmp_path / "short.toml")
        result = run(case, "C4", jobs=1)
        for k, name in enumerate(("pluck_force", "closing_force")):
            assert offer.looked.values[0, 0, k] == result.value(name, "C4"), name
        inputs = {name: one.result[f"input_{name}"][offer.design] for name in ("pull-down.diameter", "spring")}
        assert case.part("pull-down").fields["diameter"][60].value == pytest.approx(inputs["pull-down.diameter"])
        assert case.part("pallet-spring").fields["force"][67].value == pytest.approx(3.0 * inputs["spring"])


def test_the_file_has_all_designs_the_front_and_what_was_confirmed(found):
    folder, *_ = found
    result = load(folder / "out" / RESULTS)
    count = len(result["design"])
    assert 8 < count <= 24 and result["generation"].max() == 3
    assert set(result["offered"]) <= set(np.flatnonzero(result["front"]))
    assert result["aim_pluck_force"].shape == (count,) and result["confirmed_pluck_force"].shape == (2, 1)
    assert result["confirmed_aim_pluck_force"] == pytest.approx(result["aim_pluck_force"][result["offered"]], rel=5e-3)
    assert not np.any(result["compromise"])  # both ends of the front: each gives up all of an aim
    assert result.about["cut"] == "true"
    costs = np.column_stack([result["aim_pluck_force"], -result["aim_closing_force"]])
    assert set(np.flatnonzero(result["front"])) <= set(pareto_front(np.round(costs, 3), ["min", "min"]))
    assert result.about["seed"] == "1"


def test_a_stopped_search_goes_on_to_the_same_bits(found, tmp_path):
    folder, _, _, whole = found
    search, _ = short_search(tmp_path)
    out = tmp_path / "out"

    class Stop(Exception):
        pass

    def stop(state):
        if state.generation == 2:
            raise Stop

    with pytest.raises(Stop):
        run_search(search, out, jobs=1, progress=stop)
    assert not (out / RESULTS).exists()
    kept = (out / KEPT).read_bytes()
    with (out / KEPT).open("ab") as file:
        file.write(kept[: len(kept) // 4])  # torn amid the next generation
    with pytest.raises(Refused, match="add --resume"):
        run_search(search, out, jobs=1)
    states = []
    again = run_search(search, out, jobs=0, resume=True, progress=states.append, most=2)
    assert [state.kept for state in states] == [8, states[1].designs, states[1].designs]
    assert (out / KEPT).read_bytes() == (folder / "out" / KEPT).read_bytes()
    assert list(again.result.variables) == list(whole.result.variables)
    for name, one in whole.result.variables.items():
        assert np.array_equal(one.data, again.result[name], equal_nan=one.data.dtype.kind == "f"), name


def test_another_search_is_refused_and_told_apart(found, tmp_path):
    folder, *_ = found
    before = {path: path.read_bytes() for path in (folder / "out").iterdir()}
    for change, told in (
        ({"designs": 9}, "designs = 9 was 8"),
        ({"aims": ["pluck_force"]}, "the aims have changed"),
        ({}, "varies"),
    ):
        search, _ = short_search(folder, *((TIMES,) if not change else ()), **change)
        with pytest.raises(Refused, match="another search") as caught:
            run_search(search, folder / "out", jobs=1, resume=True)
        assert told in str(caught.value)
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("dear", encoding="utf-8")
    search, _ = short_search(tmp_path)
    with pytest.raises(Refused, match="other things in it"):
        run_search(search, tmp_path / "mine", jobs=1)
    with pytest.raises(Refused, match="is a file"):
        run_search(search, tmp_path / "short.toml", jobs=1)
    assert {path: path.read_bytes() for path in (folder / "out").iterdir()} == before


def test_a_damaged_manifest_is_refused(found, tmp_path):
    folder, search, _, _ = found
    (tmp_path / "out").mkdir()
    text = (folder / "out" / SEARCH.manifest).read_text(encoding="utf-8")
    (tmp_path / "out" / SEARCH.manifest).write_text(text.replace('"seed": 1', '"seed": 2'), encoding="utf-8")
    with pytest.raises(Refused, match="damaged, or changed"):
        run_search(search, tmp_path / "out", jobs=1, resume=True)


def test_limits_that_nothing_keeps_are_told_with_the_nearest(tmp_path):
    vary = {**WIRE, "levels": 3}
    search, _ = short_search(tmp_path, vary, limits=["none", "pluck_force <= 1 mN", "closing_force >= 1 N"])
    one = run_search(search, None, jobs=1)
    assert not one.offers.kept and one.path is None
    pluck, closing, nearest = json.loads(one.result.about["shortfalls"])
    assert (pluck["met"], closing["met"]) == (0, 3)
    assert pluck["best"] == one.result["aim_pluck_force"].min()
    assert one.result["short"][nearest["nearest"]] == one.result["short"].min() > 0.0
    assert pluck["in_unit_of_limit"]["best"].endswith(" mN") and closing["in_unit_of_limit"]["best"].endswith(" N")


def test_an_aim_that_nothing_moves_is_told_and_one_aim_has_one_best(tmp_path):
    vary = {**TIMES, "levels": 3}
    search, _ = short_search(tmp_path, vary, aims=["effective_mass"])
    one = run_search(search, None, jobs=1)
    assert json.loads(one.result.about["still"]) == ["effective_mass"]
    search, _ = short_search(tmp_path, vary, aims=["pluck_force"], limits=["none", "closing_force >= 1 N"])
    one = run_search(search, None, jobs=1)
    assert [offer.design for offer in one.offers.kept] == [0]
    assert one.result["input_spring"].tolist() == pytest.approx([0.9, 1.05, 1.2])


def test_what_the_case_beats_is_not_offered(tmp_path):
    search, _ = short_search(tmp_path, {**TIMES, "scale": [1.1, 1.2], "levels": 2}, aims=["pluck_force"])
    one = run_search(search, None, jobs=1)
    assert not one.offers.kept
    assert "as it is drawn beats it" in one.offers.refused[0]


def test_what_differs_when_it_is_played_again_is_in_doubt_and_not_offered(tmp_path):
    search, recipe = short_search(tmp_path, {**TIMES, "levels": 2}, aims=["pluck_force"])
    rows, engine = np.array([[0.0], [1.0]]), Engine(search, recipe, jobs=1)
    looked, drawn = engine.look(rows), engine.look(np.array([[np.nan]]))
    wrong = replace(looked, values=looked.values * 1.01)  # twice what a check allows
    told = offers(search, rows, wrong, drawn, 1, lambda *_: None)
    assert not told.kept and "it differs by more than 0.5% in an aim (pluck force by 1.00%)" in told.refused[0]
    assert [one.design for one in offers(search, rows, looked, drawn, 1, lambda *_: None).kept] == [0]


def test_what_differs_in_a_limit_alone_is_offered_with_a_remark(tmp_path):
    limits = ["none", "release_delay <= 1 s"]
    search, recipe = short_search(tmp_path, {**TIMES, "levels": 2}, aims=["pluck_force"], limits=limits)
    rows, engine = np.array([[0.0]]), Engine(search, recipe, jobs=1)
    looked, drawn = engine.look(rows), engine.look(np.array([[np.nan]]))
    values = looked.values.copy()
    values[:, :, 1] *= 1.01  # twice what a check allows
    (one,) = offers(search, rows, replace(looked, values=values), drawn, 1, lambda *_: None).kept
    assert one.differs == "release delay by 1.00%"
    (one,) = offers(search, rows, looked, drawn, 1, lambda *_: None).kept
    assert one.differs == "" and one.warned == ()


def test_fewer_generations_than_are_kept_are_refused_and_an_old_file_is_left(found):
    folder, *_ = found
    before = {path: path.read_bytes() for path in (folder / "out").iterdir()}
    search, _ = short_search(folder, generations=2)
    with pytest.raises(Refused, match="3 generations are kept there, and 2 are asked for"):
        run_search(search, folder / "out", jobs=1, resume=True)
    assert {path: path.read_bytes() for path in (folder / "out").iterdir()} == before


def test_the_price_of_the_rods_is_length_times_price():
    vary = {"field": "riser.material", "values": ["western-redcedar", "sitka-spruce"]}
    wanted = {"aims": ["cost", "pluck_force"], "limits": ["none"]}
    tables = data("demo-wood", vary, notes="C4,D4", **wanted, prices="western-redcedar=2, sitka-spruce=3.5")
    search, recipe = load_search_from(tables)
    found = [
        price_of_design(rods_of(search), prices_of(search), make_design(recipe, np.array([place])))
        for place in (0.25, 0.75)
    ]
    lengths = {
        part: sum(search.case.part(part).fields["length"][note].value for note in search.notes)
        for part in ("riser", "level-tracker", "drop")
    }
    assert found[0] == pytest.approx(2.0 * sum(lengths.values()))
    assert found[1] == pytest.approx(found[0] + 1.5 * lengths["riser"])
    with pytest.raises(CaseProblem, match="no price of western-redcedar"):
        load_search_from({**tables, "search": {**wanted, "prices": "sitka-spruce=3.5"}})
    with pytest.raises(CaseProblem, match="no rods that have a price"):
        load_search_from(
            data("relief-pallet", {"field": "key.arm", "scale": [0.9, 1.1]}, notes="C2", **wanted, prices="oak=1")
        )


def test_every_defect_is_told_at_once():
    vary = [
        {"field": "key.arm", "low": "120 mm", "high": "100 mm"},
        {"field": "strokes.down", "low": "10 ms", "high": "20 ms"},
        {"field": "materials.brass.E", "scale": [0.9, 1.1]},
        {"field": "key.front", "mean": "170 mm", "sd": "1 mm"},
        {"field": "pallet.eyes", "low": "1 mm", "high": "2 mm"},
    ]
    search = {
        "aims": ["pluck_forc", "cost", "evenness", "repetition_rate:most", "key_dip@C9"],
        "limits": ["pluck_force <= 3 mm", "pluck_force", "key_dip@D4 >= 1 mm"],
        "generation": 3,
        "designs": 2,
    }
    with pytest.raises(CaseProblem) as caught:
        load_search_from({**data("direct-pin", *vary, **search), "spreads": {}, "plan": 1})
    told = str(caught.value)
    for words in (
        "empty range",
        "what is played is not built",
        "what a material is like is not chosen",
        "a search needs ends",
        "no field 'eyes'; did you mean 'eye'",
        "did you mean 'pluck_force'",
        "'most' is not a sense",
        "evenness is told from neighbouring notes",
        "5 aims; at most 3",
        "a force is needed",
        "write NAME >= VALUE",
        "D4 is not among the notes",
        "unknown field; did you mean 'generations'",
        "allowed: 8 to 10000",
        "a search has no scatter",
        "unknown table or field",
        "prices",
    ):
        assert words in told, words


def load_search_from(tables):
    return load_search(Path("options"), tables)


def test_what_is_usual_is_taken_where_nothing_is_said():
    search, _ = load_search_from({"format": 1, "study": {"case": "demo-wood"}, "vary": [ARM_OF_WOOD]})
    assert [one.name for one in search.aims] == ["pluck_force", "repetition_rate"]
    texts = ["closing_force >= 0.1 N", "release_delay <= 0.1 s", "repetition_rate >= 6 Hz"]
    assert [one.text for one in search.limits] == texts
    assert search.notes == (36, 64, 91)
    assert (search.generations, search.designs, search.seed) == (GENERATIONS, DESIGNS, 1)
    limits = {"limits": ["repetition_rate >= 8 Hz"]}
    own, _ = load_search_from({**data("demo-wood", ARM_OF_WOOD), "search": limits})
    assert [one.text for one in own.limits] == ["repetition_rate >= 8 Hz", *texts[:2]]


ARM_OF_WOOD = {"field": "key.arm", "low": "140 mm", "high": "160 mm"}
