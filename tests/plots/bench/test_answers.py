"""What the bench answers, against what the other commands say of the same case."""

import json
import math

import pytest
from short_case import CHEST, QUICK, spoilt, write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.plots.bench.answers import Answers, Refused
from keyaction.plots.bench.asked import Asked
from keyaction.sim.bench.edits import Edit
from keyaction.sim.bench.played import GivenUp, played
from keyaction.sim.bench.workbench import Workbench
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.weighing.weighoff import weigh_note

SPRING = Edit("pallet-spring", "force", "2.6 N")
HANGS = Edit("pallet", "pin.breakaway", "100 N*mm"), Edit("pallet-spring", "force", "1 N")
FALLS = (
    Edit("pallet", "thickness", "60 mm"),
    Edit("pallet-spring", "force", "0.3 N"),
    Edit("pallet-spring", "rate", "0 N/mm"),
)


def moved(*edits, note=62, **more):
    return Asked(tuple(edits), note, **more)


@pytest.fixture(scope="module")
def lighter(answers):
    """All figures of D4 under a lighter spring."""
    return answers.figures(moved(SPRING))


def test_about(answers, folder):
    found = answers.about(Asked())
    assert (found["title"], found["file"], found["division"]) == ("Invented short action", "short.toml", "")
    assert found["notes"][1] == {"note": 61, "name": "C#4", "sharp": True} and len(found["notes"]) == 8
    assert (found["note"], found["even"], found["folder"], found["changed"]) == (62, 0.07, str(folder), False)
    assert set(found["quantities"]) > set(QUANTITIES)
    assert found["quantities"]["pluck_force"]["unit"] == "gf"
    assert answers.about(Asked(units="prefixed"))["quantities"]["pluck_force"]["unit"] == "N"
    assert "force" in found["quantities"]["pluck_force"]["definition"]
    json.dumps(found, allow_nan=False)


def test_figures_are_those_of_the_note(answers, lighter):
    case = answers.bench.with_edits([SPRING])
    meant = played(case, 62)
    told = {one["name"]: one for one in lighter["figures"]}
    assert set(told) == set(QUANTITIES)
    for name, one in told.items():
        value = float(meant[name][0])
        assert (one["value"] is None) == math.isnan(value), name
        assert (one["why"] == "") != math.isnan(value) or name == "repetition_rate", name
    assert told["pluck_force"]["value"] == pytest.approx(meant["pluck_force"][0] / 9.80665e-3, rel=1e-6)
    assert told["pluck_force"]["text"].endswith(" gf")
    assert lighter["verdict"] == {"fate": "SPEAKS", "sentence": "The note speaks and falls silent.", "sound": True}


def test_budgets_add_up(lighter):
    told = {one["name"]: one["value"] for one in lighter["figures"]}
    assert sum(one["value"] for one in lighter["giveway"]) == pytest.approx(told["pluck_point"], rel=1e-6)
    assert sum(one["value"] for one in lighter["masses"]) == pytest.approx(told["effective_mass"], rel=1e-6)
    assert {"key", "pull-down", "pallet"} <= {one["part"] for one in lighter["giveway"]}


def test_the_path_goes_from_finger_to_groove(lighter):
    path = lighter["path"]
    names = [one["name"] for one in path["stations"]]
    assert (names[0], names[-1]) == ("finger", "groove") and path["stations"][-1]["groove"]
    assert all(len(one["way"]) == len(path["time"]) for one in path["stations"])
    downs = [one["down"] for one in path["stations"]]
    assert downs[0] < downs[-1] and path["unit"] == "ms"


def test_the_weigh_off_is_that_of_weigh(answers, lighter):
    case = answers.bench.with_edits([SPRING])
    meant = weigh_note(62, train_of(case, 62), strokes=case.strokes)
    for wind in ("on", "off"):
        for name in ("down", "hold", "up"):
            value = getattr(getattr(meant, wind), name) / 9.80665e-3
            assert lighter["weigh"][wind][name]["value"] == pytest.approx(value, rel=1e-6)
    assert [one["name"] for one in lighter["weigh"]["more"]] == ["friction", "spring_and_balance", "wind", "closing"]


def test_the_feel_curve_passes_its_pluck(answers, lighter):
    found = answers.feel(moved(SPRING))
    marks = {one["name"]: one for one in found["marks"]}
    assert set(marks) == {"lost", "pluck", "follow", "dip"}
    told = {one["name"]: one["value"] for one in lighter["figures"]}
    assert marks["pluck"]["at"] == told["pluck_point"] and marks["pluck"]["force"] == told["pluck_force"]
    near = min(found["down"], key=lambda point: abs(point[0] - marks["pluck"]["at"]))
    assert near[1] == pytest.approx(marks["pluck"]["force"], rel=0.02)
    assert found["x"] == {"label": "key travel", "unit": "mm"}
    si = answers.feel(moved(SPRING, units="prefixed"))
    assert si["down"][40][1] == pytest.approx(found["down"][40][1] * 9.80665e-3, rel=1e-4)


def test_a_note_that_hangs_and_one_that_falls_apart(answers):
    hangs, falls = answers.feel(moved(*HANGS)), answers.feel(moved(*FALLS))
    assert hangs["verdict"]["fate"] == "HANGS" and hangs["down"] and not hangs["verdict"]["sound"]
    assert (falls["verdict"]["fate"], falls["down"], falls["up"], falls["marks"]) == ("HANGS", [], [], [])
    figures = answers.figures(moved(*FALLS))
    assert figures["path"] is None and "none" in figures["weigh"] and figures["giveway"] == []
    assert all(one["value"] is None and one["why"] for one in figures["figures"])
    assert figures["verdict"]["failed"]


def test_a_note_whose_stroke_cannot_be_played_tells_what_its_slow_press_tells(answers):
    fails = Edit("pallet", "eye", "15 mm", 62), Edit("key", "dip", "12 mm", 62)
    figures = answers.figures(moved(*fails))
    verdict, told = figures["verdict"], {one["name"]: one for one in figures["figures"]}
    assert (verdict["fate"], verdict["sound"]) == ("SPEAKS", False)
    assert verdict["sentence"].startswith("Its stroke cannot be played: pallet turns by ")
    assert verdict["sentence"].endswith("Pressed slowly: The note speaks and falls silent.")
    pluck = {one["name"]: one for one in answers.feel(moved(*fails))["marks"]}["pluck"]["force"]
    assert told["pluck_force"]["value"] == pluck and told["pluck_force"]["why"] == ""
    assert told["speech_delay"]["value"] is None and told["speech_delay"]["why"] == verdict["failed"]
    *pieces, last = answers.whole(moved(*fails), lambda: True)
    assert [one["sound"] for each in pieces for one in each["verdicts"]] == [True] * 2 + [False] + [True] * 5
    forces = [value for one in pieces for value in one["figures"]["pluck_force"]]
    assert forces[2] == pytest.approx(pluck, rel=1e-4)
    assert last["steps"]["pluck_force"][2] == pytest.approx(
        2 * (forces[2] - forces[1]) / (forces[2] + forces[1]), rel=1e-3
    )
    assert pieces[0]["figures"]["speech_delay"][2] is None


def test_figures_are_given_up_in_the_midst(answers):
    asked = []

    def wait():
        asked.append(1)
        if len(asked) == 3:
            raise GivenUp

    with pytest.raises(GivenUp):
        answers.figures(moved(SPRING), wait)
    assert len(asked) == 3
    answers.figures(moved(SPRING))
    assert len(asked) == 3  # nobody is asked any more


def test_the_whole_keyboard(answers):
    *pieces, last = answers.whole(moved(SPRING), lambda: True)
    assert [note for one in pieces for note in one["notes"]] == list(range(60, 68)) == last["notes"]
    forces = [value for one in pieces for value in one["figures"]["pluck_force"]]
    assert last["steps"]["pluck_force"][0] is None
    step = (forces[1] - forces[0]) / (forces[1] + forces[0]) * 2
    assert last["steps"]["pluck_force"][1] == pytest.approx(step, abs=1e-4)
    assert forces[2] == pytest.approx(
        {m["name"]: m for m in answers.feel(moved(SPRING))["marks"]}["pluck"]["force"], rel=1e-4
    )
    with pytest.raises(GivenUp):
        list(answers.whole(moved(), lambda: False))


def test_fields_and_warnings_by_part(answers):
    found = answers.fields(moved(Edit("key", "dip", "13 mm")))
    parts = {one["part"]: one for one in found["parts"]}
    assert [one["role"] for one in found["parts"]] == ["key", "rod", "pallet", "spring", "groove", "box"]
    assert parts["pallet-spring"]["title"] == "spring pallet-spring"
    dip = next(one for one in parts["key"]["fields"] if one["path"] == "dip")
    assert dip["odd"] and dip["slider"]["high"] == 13.0
    said = [one for one in found["warnings"] if (one["part"], one["path"]) == ("key", "dip")]
    assert len(said) == 1 and "outside the usual 7.5 mm to 12 mm" in said[0]["text"]
    assert not said[0]["elsewhere"], "all notes have it"
    for note, elsewhere in ((62, False), (64, True)):
        there = answers.fields(moved(Edit("key", "dip", "13 mm", 62), note=note))["warnings"]
        (one,) = (one for one in there if (one["part"], one["path"]) == ("key", "dip"))
        assert (one["elsewhere"], one["at"], one["value"]) == (elsewhere, "D4", "13 mm")
    assert found["defects"] == []


def test_what_the_case_refuses_is_said_with_its_field(answers):
    with pytest.raises(Refused) as problem:
        answers.feel(moved(Edit("key", "dip", "9.5", 62), Edit("pallet", "opens", "left")))
    found = {(one["part"], one["path"]): one for one in problem.value.answer["defects"]}
    assert found["key", "dip"]["note"] == 62 and "has no unit" in found["key", "dip"]["text"]
    assert found["pallet", "opens"]["field"]["choices"] == ("down", "sideways", "up")
    for edit in (Edit("kex", "dip", "9 mm"), Edit("key", "dup", "9 mm"), Edit("key", "dip", "9 mm", 99)):
        with pytest.raises(Refused):
            answers.feel(moved(edit))
    with pytest.raises(Refused, match="note 20 is outside the compass C4 to G4"):
        answers.feel(moved(note=20))


def test_what_a_train_refuses_leaves_its_fields(answers):
    edit = Edit("pull-down", "section", "rectangle")
    with pytest.raises(Refused) as problem:
        answers.feel(moved(edit))
    defects = problem.value.answer["defects"]
    assert [(one["part"], one["path"]) for one in defects] == [("pull-down", "section")]
    assert defects[0]["field"]["text"] == "round"
    found = answers.fields(moved(edit))
    assert found["parts"] and found["defects"] == defects and found["warnings"] == []


def test_control_points_are_told_as_the_case_has_them(tmp_path):
    course = 'force = { between = "smooth", C4 = "3 N", E4 = "2.8 N", G4 = "2.7 N" }'
    own = Answers(Workbench.opened(write_case(tmp_path, ('force = "3 N"', course), more=QUICK)), None, tmp_path)
    meant = {"between": "smooth", "C4": "3 N", "E4": "2.8 N", "G4": "2.7 N"}

    def courses(*edits):
        found = own.fields(moved(*edits))
        return {(one["part"], each["path"]): each["course"] for one in found["parts"] for each in one["fields"]}

    told = courses()
    assert told["pallet-spring", "force"] == meant
    assert told["pallet", "opening_length"] == {"between": "linear", "C4": "190 mm", "G4": "180 mm"}
    assert told["pull-down", "diameter"] is None is told["key", "dip"]
    assert courses(Edit("pallet-spring", "force.E4", "2.9 N"))["pallet-spring", "force"] == {**meant, "E4": "2.9 N"}
    assert courses(Edit("pallet-spring", "force", "2.9 N", 62))["pallet-spring", "force"] == meant
    assert courses(SPRING)["pallet-spring", "force"] is None


def test_what_was_moved_is_told_in_the_readers_units(answers):
    edits = SPRING, Edit("pallet-spring", "rate", {"between": "linear", "C4": "15 N/m", "G4": "16 N/m"}), HANGS[0]
    told = [(one["path"], one["note"], one["text"]) for one in answers.fields(moved(*edits))["moved"]]
    assert told[0] == ("force", None, "265 gf") and told[1][2].startswith("linear: C4 ")
    si = answers.fields(moved(*edits, units="prefixed"))
    assert [one["text"] for one in si["moved"]] == ["2.6 N", "linear: C4 0.015 N/mm, G4 0.016 N/mm", "100 N·mm"]
    dip = next(one for part in si["parts"] for one in part["fields"] if one["path"] == "dip")
    assert (dip["text"], dip["usual"]) == ("9.5 mm", "7.5 mm to 12 mm") and dip["allowed"].endswith(" mm")


def test_an_edit_of_what_there_is_not_leaves_the_other_defects_in_the_list(tmp_path):
    path = write_case(tmp_path, ('dip = "9.5 mm"', 'dipp = "9.5 mm"'), ('opens = "down"', 'opens = "dwn"'), more=QUICK)
    own = Answers(Workbench.opened(path), None, tmp_path)
    about = own.about(Asked())
    assert about["mendable"] and about["most"]["edits"] == 4000
    dipp = next(one for one in about["defects"] if one["path"] == "dipp")
    assert (dipp["field"], dipp["out"], dipp["near"], dipp["was"]) == (None, True, "dip", "9.5 mm")
    assert dipp["why"] == "unknown field; did you mean 'dip'?" and dipp["text"].endswith(dipp["why"])
    with pytest.raises(Refused) as problem:
        own.feel(moved(Edit("key", "dipp", "9 mm"), Edit("kex", "dip", "9 mm")))
    paths = [(one["part"], one["path"]) for one in problem.value.answer["defects"]]
    assert paths[:2] == [("key", "dipp"), ("kex", "")]
    assert {("pallet", "opens"), ("key", "dipp")} <= set(paths[2:])
    mends = Edit("key", "dipp", None), Edit("key", "dip", "9.5 mm"), Edit("pallet", "opens", "down")
    assert own.feel(moved(*mends))["verdict"]["sound"]
    assert own.fields(moved(*mends))["title"] == "Invented short action" != about["title"]
    path.write_text("torn", encoding="utf-8")
    assert not own.reread(Asked())["mendable"]


def test_text_and_its_difference(answers):
    found = answers.text(moved(SPRING))
    assert found["text"] == spoilt(('force = "3 N"', 'force = "2.6 N"'), more=QUICK)
    assert '-force = "3 N"\n+force = "2.6 N"' in found["difference"]
    assert answers.text(moved())["difference"] == answers.text(moved())["refused"] == ""
    assert "field dip: missing" in answers.text(moved(Edit("key", "dip", None)))["refused"]


def test_saved_and_refused(tmp_path):
    path = write_case(tmp_path, more=QUICK)
    out = tmp_path / "out"
    out.mkdir()
    own = Answers(Workbench.opened(path), None, out)
    saved = own.save(moved(SPRING, name="lighter"))
    assert (saved["saved"], saved["files"], saved["apart"]) == ("lighter.toml", ["chest.csv"], False)
    assert sorted(one.name for one in out.iterdir()) == ["chest.csv", "lighter.toml"]
    assert read_case(out / "lighter.toml").part("pallet-spring").fields["force"][60].value == 2.6
    for name in ("lighter.toml", "../lighter2.toml", ""):
        with pytest.raises(Refused):
            own.save(moved(SPRING, name=name))
    with pytest.raises(Refused):
        own.save(moved(Edit("key", "dip", "x"), name="broken"))
    assert len(list(out.iterdir())) == 2


def test_a_file_that_changed_on_the_disk_is_told_and_read_again(tmp_path):
    path = write_case(tmp_path, more=QUICK)
    own = Answers(Workbench.opened(path), None, tmp_path)
    before = own.stamps()
    (tmp_path / "chest.csv").write_text(CHEST.replace(",250", ",255"), encoding="utf-8")
    now = own.text(moved())
    assert (before["changed"], now["changed"], now["read"]) == (False, True, before["stamp"])
    path.write_text(spoilt(('dip = "9.5 mm"', 'dip = "9 mm"'), more=QUICK), encoding="utf-8")
    assert own.text(moved())["text"] == spoilt(more=QUICK)
    found = own.reread(Asked())
    assert not found["changed"] and found["read"] != before["stamp"]
    assert own.bench.case.part("key").fields["dip"][60].value == 9e-3
    path.write_text("torn", encoding="utf-8")
    torn = own.reread(Asked())
    assert torn["notes"] == [] and torn["note"] is None and torn["defects"][0]["field"] is None
    assert torn["lost"] == []
    path.unlink()
    assert own.stamps()["lost"] == ["short.toml: no such file"]
    with pytest.raises(Refused, match="no such file"):
        own.reread(Asked())


def test_a_case_with_defects_comes_up_and_is_mended(tmp_path):
    path = write_case(tmp_path, ('dip = "9.5 mm"', 'dip = "9.5"'), more=QUICK)
    own = Answers(Workbench.opened(path), None, tmp_path)
    about = own.about(Asked())
    (defect,) = about["defects"]
    assert (defect["part"], defect["path"], defect["field"]["text"]) == ("key", "dip", "9.5")
    with pytest.raises(Refused) as problem:
        own.fields(Asked())
    assert problem.value.answer["defects"] == about["defects"]
    mend = Edit("key", "dip", "9.5 mm")
    assert own.feel(moved(mend, note=None))["verdict"]["sound"]
    assert len(own.fields(moved(mend, note=None))["notes"]) == 8
    assert own.text(moved(mend))["text"] == spoilt(more=QUICK)
