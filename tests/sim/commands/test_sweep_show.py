"""keyaction sweep show: tables within 80 columns, the study's own figures, and bad requests told in one message."""

import json
import re

import numpy as np
import pytest
from made_up_study import K, made, sobol_points, study
from small_study import write_study

from keyaction.sim.analysis.effects import Effect, Effects
from keyaction.sim.analysis.view import StudyView
from keyaction.sim.cli import main
from keyaction.sim.commands import sweep_show
from keyaction.sim.sweep.open import study_result
from keyaction.sim.sweep.sweep import run_study

PLANS = ["sobol", "morris", "one-at-a-time", "latin"]
SOBOL = 'plan = "sobol"\nbase_points = 8'


@pytest.fixture(scope="module")
def swept(tmp_path_factory):
    """A real study of the short case: 8 base points of two inputs at every note."""
    folder = tmp_path_factory.mktemp("swept")
    run_study(write_study(folder, SOBOL), folder / "out", jobs=1, judge=0)
    return folder / "out"


@pytest.fixture
def told(monkeypatch, capsys):
    """`told(result, *options)`: the command's exit status and both outputs for a made-up study."""

    def tell(result, *options):
        monkeypatch.setattr(sweep_show, "study_on_disk", lambda _: result)
        status = main(["sweep", "show", "somewhere", *options])
        return status, *capsys.readouterr()

    return tell


def fits(text):
    return max(map(len, text.splitlines())) <= 80


@pytest.mark.parametrize("units", ["trade", "si"])
@pytest.mark.parametrize("plan", PLANS)
def test_every_table_fits_eighty_columns(plan, units, told):
    pareto = "pluck_force,repetition_rate,roller.width:max"
    chosen = ["--quantity", "opening_time,pluck_force", "--pareto", pareto, "--units", units]
    for options in ([], chosen):
        status, shown, complaint = told(made(plan, failed=0.05), *options)
        assert (status, complaint) == (0, "")
        assert fits(shown), shown


def test_designs_failures_and_reasons_are_counted(told):
    result = made("latin", failed=0.05)
    _, shown, _ = told(result)
    for i, name in enumerate(result.notes):
        lost = int(np.sum(result["status"][:, i] != "ok"))
        assert re.search(rf"^{name} +400 +{400 - lost} +{lost}$", shown, re.MULTILINE)
    whole = int(np.sum(result["status"] != "ok"))
    assert re.search(rf"the motion left the range of the model or never settled +{whole} ", shown)


@pytest.mark.parametrize(("highest", "shown"), [(8.07, "8"), (20.0, "")])
def test_a_rate_that_is_but_the_highest_tried_is_told_as_such(told, highest, shown):
    result = made("latin")
    rates = result["repetition_rate"]
    rates[:] = np.minimum(rates, int(highest * 10) / 10)
    result.about["strokes"] = json.dumps({"repetition_highest": highest})
    _, out, _ = told(result)
    assert (f"{shown} Hz+" in out) == bool(shown) and fits(out)
    assert (f"{shown} Hz+ and more: {shown} Hz passes, the highest rate tried" in out) == bool(shown)
    assert shown or "Hz+" not in out


def test_where_the_highest_rate_varies_none_is_told_as_such(told):
    result = made("latin")
    result["repetition_rate"][:] = np.minimum(result["repetition_rate"], 8.0)
    result.about["strokes"] = json.dumps({"repetition_highest": 8.0})
    assert "8 Hz+" in told(result)[1]
    result.about["study"] += '[[vary]]\nfield = "strokes.repetition_highest"\nvalues = ["8 Hz", "20 Hz"]\n'
    assert "Hz+" not in told(result)[1]


@pytest.mark.parametrize("fitted", [True, False])
def test_no_difference_and_nothing_that_is_fitted_is_told_as_the_highest_tried(fitted, told, monkeypatch):
    result = made("latin")
    result.about["strokes"] = json.dumps({"repetition_highest": 8.0})
    found = Effects(5.0, (Effect(0.0, 8.0, 1.0, 2.0),) * len(StudyView(result).inputs), 0.5, 9, fitted)
    monkeypatch.setattr(StudyView, "effects", lambda *_: found)
    _, out, _ = told(result, "--quantity", "repetition_rate")
    rows = re.findall(r"^.* 0 Hz .* 8 Hz.*$", out.partition("what each input does")[2], re.MULTILINE)
    assert len(rows) == len(found.effects) and all(row.count("8 Hz") == 2 for row in rows)
    assert all(row.count("+") == (not fitted) and row.rstrip().endswith("8 Hz") for row in rows)


def test_what_limits_the_rate_is_told_with_how_many(told):
    result = made("latin", failed=0.05)
    limits = result["repetition_limit"]
    limits[limits == "seating"] = "the pallet did not seat"
    limits[:30, 0], limits[30, 0] = "the groove did not empty", "the groove did not empty; passes again up to 19.5 Hz"
    _, out, _ = told(result, "--note", "C3")
    seated = int(np.sum(limits[:, 0] == "the pallet did not seat"))
    line = f"of how many: the pallet did not seat ({seated}), the groove did not empty (31); 1 design passes again"
    assert line in " ".join(out.split()) and fits(out)
    del result.variables["repetition_limit"]
    assert "What limits" not in told(result)[1]


def test_reasons_that_differ_by_a_figure_alone_are_one(told):
    result = made("latin", failed=0.05)
    status = result["status"]
    status[status != "ok"] = [f"failed: the square turns by 0.{k} rad" for k in range(10, 10 + np.sum(status != "ok"))]
    _, out, _ = told(result)
    last = 9 + np.sum(status != "ok")
    assert re.search(rf"the square turns by 0.10 to 0.{last} rad +{last - 9} ", " ".join(out.split())), out
    assert "other reasons" not in out


def test_what_becomes_of_designs_is_counted(tmp_path, capsys):
    vary = '[[vary]]\nfield = "pull-down.lost_motion"\nvalues = ["0 mm", "15 mm"]\n'
    head = 'notes = "C4:D4"\nquantities = ["pluck_force"]\n'
    run_study(write_study(tmp_path, 'plan = "grid"', vary, head=head), tmp_path / "out", jobs=1, judge=0)
    assert main(["sweep", "show", str(tmp_path / "out")]) == 0
    shown = capsys.readouterr().out
    assert fits(shown)
    assert re.search(r"^does not speak +3 +3, from C4 *$", shown, re.MULTILINE)
    assert re.search(r"^speaks and falls silent +3 +3, from C4 *$", shown, re.MULTILINE)


def test_the_middle_note_is_shown_unless_another_is_asked_for(told):
    assert "note C4 of C3, C4, C5; another: --note NAME" in told(made("latin"))[1]
    assert "Quantities at C5" in told(made("latin"), "--note", "C5")[1]


def test_what_the_plan_allows_is_shown(told):
    words = {
        "sobol": "Opening time at C4: Sobol' indices",
        "morris": "Opening time at C4: Morris screening",
        "one-at-a-time": "Opening time at C4: what each input does, one at a time",
        "latin": "Opening time at C4: what each input does, by straight lines",
    }
    for plan, heading in words.items():
        assert heading in told(made(plan), "--quantity", "opening_time")[1]


def test_figures_are_those_of_the_analysis(told):
    result = made("sobol", failed=0.02)
    found = StudyView(result).indices("opening_time", 1)
    _, shown, _ = told(result, "--quantity", "opening_time")
    row = next(line for line in shown.splitlines() if line.startswith("level-tracker.material ") and "to" in line)
    i = [one.name for one in StudyView(result).inputs].index("level-tracker.material")
    assert f"{found.first.value[i]:.3f}" in row
    assert f"{found.total.low[i]:.3f} to {found.total.high[i]:.3f}" in row
    assert f"{found.used} base points; 95 % by bootstrap" in shown
    assert f"{found.dropped} of {found.used + found.dropped} base points" in shown
    middle = np.nanmedian(StudyView(result).values("opening_time", 1)) * 1e3
    assert re.search(rf"^opening time .* {middle:.3g} ms ", shown, re.MULTILINE)


def test_the_second_order_is_shown_where_the_plan_has_it(told):
    result = study("sobol", sobol_points(512, K, second_order=True), second_order=True)
    _, shown, _ = told(result, "--quantity", "effective_mass")
    assert "the strongest interactions" in shown
    assert "level-tracker.material with riser-and-drop.length" in shown


def test_front_is_listed_with_its_designs(told):
    _, shown, _ = told(made("latin"), "--pareto", "pluck_force,repetition_rate")
    assert "Pareto front at C4: less pluck force, more repetition rate is better" in shown
    assert re.search(r"\d+ of 400 designs", shown)
    assert (
        "Pareto front at C4: more pluck force, more repetition rate is better"
        in (told(made("latin"), "--pareto", "pluck_force:max,repetition_rate")[1])
    )


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--quantity", "pluck_forc"], "quantity 'pluck_forc' is not in this study; did you mean 'pluck_force'?"),
        (["--note", "D4"], "note D4 is not in this result; it holds C3, C4, C5"),
        (["--note", "H4"], "'H4' is not a note"),
        (["--pareto", "pluck_force"], "--pareto pluck_force: a front needs two quantities or more"),
        (["--pareto", "pluck_force:mx,opening_time"], "'mx' is not a sense; did you mean 'max'?"),
        (
            ["--pareto", "pluck_force,level-tracker.material"],
            "'level-tracker.material' is no quantity and no numeric input",
        ),
    ],
)
def test_a_request_that_cannot_be_met_is_one_message(options, words, told, tmp_path):
    status, shown, complaint = told(made("latin"), *options, "--plots", str(tmp_path / "pictures"))
    assert (status, shown) == (2, "")
    assert words in " ".join(complaint.split())
    assert not (tmp_path / "pictures").exists()


def test_no_study_is_one_message(tmp_path, capsys):
    assert main(["sweep", "show", str(tmp_path / "nowhere")]) == 2
    shown, complaint = capsys.readouterr()
    assert shown == ""
    assert "nowhere" in complaint
    assert "Traceback" not in complaint


# -- a real study ------------------------------------------------------------------------------------------
def test_a_real_study_is_shown_and_drawn(swept, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)  # a short name for the folder: its line is to fit too
    assert main(["sweep", "show", str(swept.resolve()), "--plots", "."]) == 0
    shown, _ = capsys.readouterr()
    assert fits(shown)
    assert "Small: plan sobol, 32 designs" in shown
    assert "× 0.9" in shown
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "designs.png",
        "sobol.png",
        "surfaces.png",
        "tornado.png",
    ]


def test_inputs_of_a_real_study_are_told_apart(swept):
    """A stiffer spring plucks harder, a thicker pull-down hardly does."""
    view = StudyView(study_result(swept))
    weights = dict(zip((one.name for one in view.inputs), view.weights("pluck_force", 0), strict=True))
    assert weights["spring"] > 20 * weights["pull-down.diameter"] > 0


def test_a_folder_that_cannot_be_written_is_a_failure(told, tmp_path):
    (tmp_path / "file").write_text("")
    status, _, complaint = told(made("one-at-a-time"), "--plots", str(tmp_path / "file"))
    assert status == 1
    assert "pictures cannot be written" in complaint


def test_doubts_of_sobol_indices_stand_beside_them(swept, capsys):
    for options in ([], ["--quantity", "pluck_force"]):
        assert main(["sweep", "show", str(swept), *options]) == 0
        shown = capsys.readouterr().out
        assert "only 8 base points: neither the indices nor their intervals" in " ".join(shown.split())
        assert fits(shown)
    main(["sweep", "show", str(swept)])
    assert re.search(r"spring [01]\.[0-9]{2} \([-0-9.]+ to [0-9.]+\)", " ".join(capsys.readouterr().out.split()))
