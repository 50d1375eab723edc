"""A case on the bench: read again with edits, kept, saved; a file with defects is mended."""

import errno
import os

import pytest
from short_case import CHEST, QUICK, spoilt, write_case
from small_instrument import write_instrument

from keyaction.cases.action.reader import read_case
from keyaction.cases.instrument.reader import read_instrument
from keyaction.cases.text.defects import CaseProblem
from keyaction.cases.text.find import find_case
from keyaction.sim.bench.edits import Edit, UnknownField
from keyaction.sim.bench.mending import Mend, mend_of, mendable
from keyaction.sim.bench.played import GivenUp, played, whole
from keyaction.sim.bench.refused import Said, refusals, warned
from keyaction.sim.bench.saved import NotSaved, save
from keyaction.sim.bench.workbench import Workbench
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.run.run import run

SPRING = Edit("pallet-spring", "force", "2.6 N")


@pytest.fixture
def path(tmp_path):
    return write_case(tmp_path, more=QUICK)


def test_figures_are_those_of_a_run_of_the_saved_case(path, tmp_path):
    bench = Workbench.opened(path)
    edits = [SPRING, Edit("key", "dip", "10 mm", 62)]
    case = bench.with_edits(edits)
    saved = save(case, bench.written(edits), tmp_path, "lighter").path
    assert saved.name == "lighter.toml"
    meant = run(read_case(saved), "D4", jobs=1)
    found = played(case, 62)
    for name in QUANTITIES:
        assert found[name][0] == pytest.approx(meant[name][0], rel=1e-12, nan_ok=True), name
    for name in ("compliance_budget", "mass_budget", "feel_down_force", "groove_pressure"):
        assert found[name][0] == pytest.approx(meant[name][0], rel=1e-6, nan_ok=True)
    assert str(found["verdict"][0]) == str(meant["verdict"][0])


def test_the_whole_comes_in_pieces_until_nobody_waits(path):
    case = Workbench.opened(path).with_edits([SPRING])
    asked = []
    pieces = whole(case, lambda: asked.append(1) is None and len(asked) < 2, jobs=1)
    first = next(pieces)
    assert first.notes == tuple(range(60, 68)) and len(first.verdicts) == 8
    assert next(pieces, None) is None
    with pytest.raises(GivenUp):
        next(whole(case, lambda: False, jobs=1))


def test_what_was_read_before_is_kept(path):
    bench = Workbench.opened(path)
    assert bench.with_edits([]) is bench.case
    one = bench.with_edits([SPRING])
    assert bench.with_edits([Edit("pallet-spring", "force", "2 N"), SPRING]) is one
    assert bench.stood([SPRING], 60) is bench.stood([SPRING], 60)
    for i in range(40):
        bench.with_edits([Edit("key", "dip", f"{9 + i / 100} mm")])
    assert bench.with_edits([SPRING]) is not one


def test_a_file_with_defects_is_mended(tmp_path):
    path = write_case(tmp_path, ('dip = "9.5 mm"', 'dip = "9.5"'), ('opens = "down"', 'opens = "dwn"'))
    bench = Workbench.opened(path)
    assert bench.case is None
    found = refusals(bench.problem)
    assert [(one.part, one.path, one.value) for one in found] == [("key", "dip", '"9.5"'), ("pallet", "opens", '"dwn"')]
    dip, opens = (mendable(bench, one) for one in found)
    assert (dip.value, dip.text, dip.unit, dip.slider.low) == ("9.5", "9.5", "mm", 7.5)
    assert (opens.text, opens.choices) == ("dwn", ("down", "sideways", "up"))
    with pytest.raises(CaseProblem):
        bench.with_edits([])
    mend = [Edit("key", "dip", "9.5 mm")]
    with pytest.raises(CaseProblem) as left:
        bench.with_edits(mend)
    assert [one.field for one in left.value.defects] == ["opens"]
    mend.append(Edit("pallet", "opens", "down"))
    assert bench.with_edits(mend).compass == tuple(range(60, 68))
    assert bench.written(mend) == spoilt()


def test_what_no_edit_mends_is_told_without_a_field(tmp_path):
    row = 'stops = [{ name = "Principal 8", area = "40 mm^2", drawn = true }]'
    bench = Workbench.opened(write_case(tmp_path, (row, "stops = 3"), ('dip = "9.5 mm"', 'dipp = "9.5 mm"')))
    found = refusals(bench.problem)
    assert {(one.part, one.path) for one in found} == {("groove", "stops"), ("key", "dipp")}
    mends = {one.path: mend_of(bench, one) for one in found}
    assert mends == {"stops": Mend(), "dipp": Mend(None, True, "dip", "9.5 mm")}


def test_a_file_that_is_no_toml_comes_up_with_its_defect(tmp_path):
    path = tmp_path / "torn.toml"
    path.write_text('format = 1\n[case\ntitle = "torn"\n', encoding="utf-8")
    bench = Workbench.opened(path)
    assert (bench.case, bench.data) == (None, None)
    for edits in ([], [SPRING]):
        with pytest.raises((CaseProblem, UnknownField)):
            bench.with_edits(edits)
    with pytest.raises(CaseProblem):
        Workbench.opened(tmp_path / "none.toml")


def test_the_stamp_is_of_the_case_and_its_csv_files(path):
    bench = Workbench.opened(path)
    before = bench.stamp_now()
    assert before == bench.stamp_now()
    (path.parent / "chest.csv").write_text(CHEST.replace("250", "251"), encoding="utf-8")
    after = bench.stamp_now()
    path.unlink()
    assert len({before, after, bench.stamp_now()}) == 3


def test_a_division_stands_in_its_instrument(tmp_path):
    instrument = read_instrument(write_instrument(tmp_path))
    case = next(iter(instrument.divisions.values()))
    bench = Workbench.of(case)
    again = bench.with_edits([Edit(case.parts[0].name, "dip", "9.8 mm")])
    assert (again.division, again.settings) == (case.division, case.settings)
    assert again.parts[0].fields["dip"][case.compass[0]].value == pytest.approx(9.8e-3)
    assert bench.again().case.fingerprint == case.fingerprint
    box = case.part("box")
    for name, _ in bench.common:
        part, _, field = name.partition(".")
        with pytest.raises(UnknownField, match="set by the instrument"):
            bench.with_edits([Edit(part, field, "10 degC")])
    assert box is not None


def changed(path, old, new):
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_a_division_with_defects_is_mended_within_its_instrument(tmp_path):
    organ = write_instrument(tmp_path)
    meant = read_instrument(organ).divisions["great"]
    changed(tmp_path / "great.toml", 'dip = "9.5 mm"', 'dip = "9.5"')
    changed(tmp_path / "pedal.toml", 'dip = "9.5 mm"', 'dip = "none"')
    bench = Workbench.of_division(organ, "great")
    assert (bench.case, bench.path.name, bench.division) == (None, "great.toml", "great")
    (said,) = refusals(bench.problem)
    assert (said.part, said.path) == ("key", "dip") and mend_of(bench, said).field.text == "9.5"
    case = bench.with_edits([Edit("key", "dip", "9.5 mm")])
    assert (case.division, case.part("box").fields) == ("great", meant.part("box").fields), "wind is the instrument's"
    with pytest.raises(UnknownField, match="set by the instrument"):
        bench.with_edits([Edit("key", "dip", "9.5 mm"), Edit("box", "pressure", "70 mmH2O")])
    assert 'dip = "9.5 mm"' in bench.written([Edit("key", "dip", "9.5 mm")])


def test_an_instrument_with_defects_comes_up_and_is_read_again(tmp_path):
    organ = write_instrument(
        tmp_path, ('temperature = "12 degC"', 'temperature = "12"'), ('case = "swell.toml"', "case = 3")
    )
    changed(tmp_path / "great.toml", 'dip = "9.5 mm"', 'dip = "9.5"')
    bench = Workbench.of_division(organ, "great")
    assert [(one.part, one.path) for one in refusals(bench.problem)] == [("", ""), ("key", "dip")]
    with pytest.raises(CaseProblem, match=r"organ.toml: \[climate\], field 'temperature'") as left:
        bench.with_edits([Edit("key", "dip", "9.5 mm")])
    assert len(left.value.defects) == 1
    assert bench.lost() == [] and bench.stamp_now() == bench.stamp
    changed(organ, 'temperature = "12"', 'temperature = "12 degC"')
    assert bench.stamp_now() != bench.stamp, "the instrument belongs to what may change on the disk"
    again = bench.again()
    assert again.with_edits([Edit("key", "dip", "9.5 mm")]).division == "great"
    (tmp_path / "great.toml").write_text("[[train", encoding="utf-8")
    assert again.again().data is None and "great.toml: line 1" in str(again.again().problem)
    with pytest.raises(CaseProblem, match="no such division; did you mean 'great'"):
        Workbench.of_division(organ, "graet")
    with pytest.raises(CaseProblem, match=r"\[\[division\]\] II, field 'case'"):
        Workbench.of_division(organ, "II")


@pytest.mark.parametrize(
    "name",
    ["", " ", "a/b.toml", "..", ".hidden", "../out.toml", "c:x", "a\u202eb", "a\nb", "a\tb", "-x", "con", "NUL.toml"],
)
def test_names_that_lead_elsewhere(path, tmp_path, name):
    bench = Workbench.opened(path)
    before = sorted(tmp_path.iterdir())
    with pytest.raises(NotSaved, match="a plain file name is needed"):
        save(bench.case, bench.text, tmp_path, name)
    assert sorted(tmp_path.iterdir()) == before
    with pytest.raises(NotSaved, match="no such folder any more"):
        save(bench.case, bench.text, tmp_path / "moved-away", "new")
    assert not (tmp_path / "moved-away").exists()


def test_nothing_is_written_over(path, tmp_path):
    bench = Workbench.opened(path)
    with pytest.raises(NotSaved, match=r"short.toml: there already; choose another name"):
        save(bench.case, "other", tmp_path, "short")
    folder = tmp_path / "other"
    folder.mkdir()
    (folder / "chest.csv").write_text("note,wire\n", encoding="utf-8")
    saved = save(bench.case, bench.text, folder, "new")
    assert (saved.path, saved.files, saved.apart) == (folder / "new" / "new.toml", ("chest.csv",), True)
    assert (folder / "chest.csv").read_text(encoding="utf-8") == "note,wire\n"
    assert read_case(saved.path).fingerprint == bench.case.fingerprint
    with pytest.raises(NotSaved, match=r"new: there already; choose another name"):
        save(bench.case, bench.text, folder, "new")
    (folder / "chest.csv").unlink()
    beside = save(bench.case, bench.text, folder, "new.toml")
    assert (beside.path, beside.files, beside.apart) == (folder / "new.toml", ("chest.csv",), False)
    assert save(bench.case, bench.text, folder, "newer").files == ()
    assert read_case(folder / "new.toml").fingerprint == bench.case.fingerprint


def test_a_folder_that_was_made_for_nothing_goes_again(path, tmp_path, monkeypatch):
    bench, folder = Workbench.opened(path), tmp_path / "other"
    folder.mkdir()
    (folder / "chest.csv").write_text("note,wire\n", encoding="utf-8")

    def full(*_, **__):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("keyaction.sim.tune.new_case.line_ends", full)
    with pytest.raises(NotSaved, match=r"new.toml: cannot be written \(No space left on device\)$"):
        save(bench.case, bench.text, folder, "new")
    assert [one.name for one in folder.iterdir()] == ["chest.csv"]


@pytest.mark.parametrize("name", ["x" * 81, "x" * 300, "\u4e2d" * 80])
def test_names_that_are_too_long(path, tmp_path, name):
    bench = Workbench.opened(path)
    with pytest.raises(NotSaved, match="too long a name; at most 80 signs"):
        save(bench.case, bench.text, tmp_path, name)


COURSE = 'force = { between = "linear", C4 = "3 N", G4 = "2.7" }'


def test_a_bad_control_point_is_mended_as_a_point_or_as_a_whole(tmp_path):
    path = write_case(tmp_path, ('force = "3 N"', COURSE), ('opens = "down"', 'opens = "dwn"'))
    bench = Workbench.opened(path)
    opens, force = sorted(refusals(bench.problem), key=lambda one: one.part)
    assert (force.part, force.path, opens.path) == ("pallet-spring", "force.G4", "opens")
    mend = mend_of(bench, force)
    assert (mend.field.path, mend.field.text, mend.field.unit, mend.field.each) == ("force.G4", "2.7", "gf", False)
    point = Edit("pallet-spring", "force.G4", "2.7 N")
    with pytest.raises(CaseProblem) as left:
        bench.with_edits([point])
    assert [one.field for one in left.value.defects] == ["opens"]
    both = [point, Edit("pallet", "opens", "down")]
    assert bench.with_edits(both).part("pallet-spring").fields["force"][67].value == 2.7
    assert bench.written(both) == spoilt(('force = "3 N"', COURSE.replace('"2.7"', '"2.7 N"')))
    whole = [point, Edit("pallet-spring", "force", {"between": "steps", "C4": "2 N", "G4": "1 N"}), both[1]]
    assert bench.with_edits(whole).part("pallet-spring").fields["force"][66].value == 2.0
    later = [*whole, Edit("pallet-spring", "force.G4", "1.5 N")]
    assert bench.with_edits(later).part("pallet-spring").fields["force"][67].value == 1.5
    assert 'G4 = "1.5 N"' in bench.written(later)


def test_the_law_of_control_points_is_mended_by_choice(tmp_path):
    course = 'force = { C4 = "3 N", G4 = "2.7 N", between = "straight" }'
    bench = Workbench.opened(write_case(tmp_path, ('force = "3 N"', course)))
    (law,) = refusals(bench.problem)
    field = mend_of(bench, law).field
    assert (field.path, field.text, field.choices) == (
        "force.between", "straight", ("linear", "smooth", "geometric", "steps"),
    )  # fmt: skip
    found = bench.with_edits([Edit("pallet-spring", "force.between", "linear")])
    assert found.part("pallet-spring").fields["force"][60].value == 3.0


def test_an_unknown_field_is_renamed_or_taken_out(tmp_path):
    own = '\n[notes.C4.pallet-spring]\nforse = "2.5 N"\n'
    path = write_case(tmp_path, ('dip = "9.5 mm"', 'dipp = "9.5 mm"  # measured'), more=own)
    bench = Workbench.opened(path)
    found = refusals(bench.problem)
    mends = {(one.part, one.path, one.note): mend_of(bench, one) for one in found}
    assert mends["key", "dipp", None] == Mend(None, True, "dip", "9.5 mm")
    assert mends["pallet-spring", "forse", 60] == Mend(None, True, "force", "2.5 N")
    edits = [
        Edit("key", "dipp", None),
        Edit("key", "dip", "9.5 mm"),
        Edit("pallet-spring", "forse", None, 60),
        Edit("pallet-spring", "force", "2.5 N", 60),
    ]
    fields = bench.with_edits(edits).part("pallet-spring").fields["force"]
    assert (fields[60].value, fields[61].value) == (2.5, 3.0)
    text = bench.written(edits)
    assert "dipp" not in text and "forse" not in text and 'dip = "9.5 mm"' in text
    with pytest.raises(UnknownField, match="'none' does not stand in the file"):
        bench.with_edits([*edits, Edit("key", "none", None)])
    with pytest.raises(UnknownField, match="nothing of its own stands at this note"):
        bench.with_edits([*edits, Edit("key", "dip", None, 61)])


def blocked(folder, how):
    """A folder in which the CSV file of a case cannot have its place."""
    if how in ("another", "folder", "dead link", "link"):
        (folder / "wood").mkdir()
    csv = folder / "wood" / "chest.csv"
    if how == "another":
        csv.write_text("note,wire\n", encoding="utf-8")
    elif how == "folder":
        csv.mkdir()
    elif how == "dead link":
        csv.symlink_to(folder.parent / "elsewhere.csv")
    elif how == "link":
        (folder.parent / "same.csv").write_text(CHEST, encoding="utf-8")
        csv.symlink_to(folder.parent / "same.csv")
    elif how == "file":
        (folder / "wood").write_text("", encoding="utf-8")
    else:
        (folder / "wood").symlink_to(folder.parent / "nowhere")


@pytest.mark.parametrize("how", ["another", "folder", "file", "dead link", "link", "linked folder"])
def test_a_csv_file_of_another_folder_whose_place_is_taken(tmp_path, how):
    path = write_case(tmp_path, ('csv = "chest.csv"', 'csv = "wood/chest.csv"'), more=QUICK)
    (tmp_path / "wood").mkdir()
    (tmp_path / "chest.csv").rename(tmp_path / "wood" / "chest.csv")
    (tmp_path / "out").mkdir()
    blocked(tmp_path / "out", how)
    there = {one: one.lstat().st_mtime_ns for one in (tmp_path / "out").rglob("*")}
    bench = Workbench.opened(path)
    saved = save(bench.with_edits([SPRING]), bench.written([SPRING]), tmp_path / "out", "new")
    assert (saved.path, saved.files, saved.apart) == (tmp_path / "out/new/new.toml", ("wood/chest.csv",), True)
    assert read_case(saved.path).part("pallet-spring").fields["force"][60].value == 2.6
    assert {one: one.lstat().st_mtime_ns for one in there} == there
    assert not (tmp_path / "elsewhere.csv").exists() and not (tmp_path / "nowhere").exists()


def test_a_case_that_is_gone_is_none_that_ships(tmp_path):
    shipped = find_case("demo-wood")
    own = tmp_path / "demo-wood.toml"
    own.write_text(shipped.read_text(encoding="utf-8"), encoding="utf-8")
    for csv in shipped.parent.glob("demo-*.csv"):
        (tmp_path / csv.name).write_bytes(csv.read_bytes())
    bench = Workbench.opened(own)
    assert bench.lost() == []
    own.unlink()
    assert bench.lost() == ["demo-wood.toml: no such file"]
    with pytest.raises(CaseProblem, match="no such file"):
        bench.again()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no named pipes")
@pytest.mark.parametrize("name", ["short.toml", "chest.csv"])
def test_a_pipe_is_told_and_never_waited_for(path, name):
    bench = Workbench.opened(path)
    before, place = bench.stamp, path.parent / name
    place.unlink()
    os.mkfifo(place)
    assert bench.stamp_now() != before
    assert bench.lost() == [f"{name}: is not a plain file"]
    with pytest.raises(CaseProblem, match="is not a plain file"):
        bench.again().with_edits([])
    (path.parent / "out").mkdir()
    assert save(bench.case, bench.text, path.parent / "out", "again").path.is_file()


def test_warnings_name_their_field():
    lines = ["a.toml: [[train]] key, field 'dip' = 14 mm at C4: outside the usual 7.5 mm to 12 mm", "C4: no pluck"]
    one, other = warned(lines)
    assert (one.part, one.path, one.notes, other) == ("key", "dip", (), Said("C4: no pluck"))
    names = [(60 + i, f"n{i}") for i in range(6)]
    told = "a.toml: [[train]] key, field 'dip' = 13 mm to 14 mm at n0, n3 to n5: outside the usual 7.5 mm to 12 mm"
    (one,) = warned([told], names)
    assert (one.value, one.at, one.notes) == ("13 mm to 14 mm", "n0, n3 to n5", (60, 63, 64, 65))
