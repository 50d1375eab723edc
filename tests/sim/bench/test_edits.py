"""What is moved on the bench reads the same in memory and from the text that it is written into."""

import tomllib
from functools import partial
from importlib.resources import files
from pathlib import Path

import pytest
from short_case import spoilt, write_case

from keyaction.cases.action.reader import case_from, read_case
from keyaction.cases.fields.kinds import from_text, read_scalar
from keyaction.cases.fields.tables import field_at, paths
from keyaction.cases.text.defects import BadValue, CaseProblem
from keyaction.models.materials.library import default_library
from keyaction.models.parts import PARTS
from keyaction.sim.bench.edits import Edit, Ground, UnknownField, key_of, latest
from keyaction.sim.bench.laid import overlaid
from keyaction.sim.bench.movable import movable
from keyaction.sim.bench.units import as_text, trade_unit
from keyaction.sim.bench.workbench import Workbench
from keyaction.sim.bench.written import written


def moved(one, field):
    """Another value of a field, as a page sends it: a step of its slider, or the next choice."""
    if one.kind == "flag":
        return "false" if one.value else "true"
    if one.choices:
        return one.choices[(one.choices.index(str(one.value)) + 1) % len(one.choices)]
    if one.kind == "text":
        return f"{one.value} moved"
    step = one.slider.step if one.slider else 1.0
    value = one.value + step if one.slider is None or one.value + step <= one.slider.high else one.value - step
    return f"{value:.10g} {trade_unit(field)}".strip()


def every_edit(case, note, own):
    """An edit of every field that can be moved: for the whole compass, or of the note's `own`."""
    found, fields = [], movable(case, note)
    for part in case.parts:
        for one in fields[part.name]:
            field = field_at(part.part.fields, one.path)
            if field.varies or not own:
                value = moved(one, field)
                found.append(Edit(one.part, one.path, value, note if own else None))
    return found


def fields_of(case):
    """Every figure of every note, without where it comes from."""
    return {
        (part.name, path): {note: given.value for note, given in course.items()}
        for part in case.parts
        for path, course in part.fields.items()
    }


def mixed(case, note):
    """Every other field for the whole compass, the rest for the note alone."""
    both = every_edit(case, note, False), every_edit(case, note, True)
    own = {(one.part, one.path): one for one in both[1]}
    return [own.get((one.part, one.path), one) if i % 2 else one for i, one in enumerate(both[0])]


WAYS = {"compass": partial(every_edit, own=False), "note": partial(every_edit, own=True), "mixed": mixed}
KINDS = sorted(path.stem for path in Path(str(files("keyaction.cases").joinpath("kinds"))).glob("*.toml"))


@pytest.mark.parametrize(
    ("name", "way"), [("demo-wood", "compass"), ("demo-wood", "note"), *((kind, "mixed") for kind in KINDS)]
)
def test_every_field_that_can_be_moved_is_written_as_it_is_read(name, way):
    case = read_case(name)
    note = case.compass[len(case.compass) // 2]
    edits, ground = WAYS[way](case, note), Ground.of(case)
    data = overlaid(ground, tomllib.loads(case.text), edits)
    text = written(ground, edits)
    assert tomllib.loads(text) == data != tomllib.loads(case.text)
    assert len(edits) > 40
    for line in case.text.splitlines():  # remarks stay, those beside values too
        remark = line.partition("#")[2] if '"' not in line.partition("#")[2] else ""
        assert remark in text
    whole = [one for one in edits if field_at(case.part(one.part).part.fields, one.path).kind == "quantity"]
    try:
        meant = fields_of(Workbench.of(case).with_edits(whole))
    except CaseProblem:  # sizes that no longer fit each other: all the same refused from the text
        with pytest.raises(CaseProblem):
            case_from(case.path, text := written(ground, whole), tomllib.loads(text))
        return
    text = written(ground, whole)
    found = fields_of(case_from(case.path, text, tomllib.loads(text)))
    assert found == meant != fields_of(case)
    for one in whole:
        value = found[one.part, one.path][note]
        assert value != case.part(one.part).fields[one.path][note].value


def ground_of(tmp_path, *changes, more=""):
    return Ground.of(read_case(write_case(tmp_path, *changes, more=more)))


TWO = (
    'stops = [{ name = "Principal 8", area = "40 mm^2", drawn = true }]',
    'stops = [\n  { name = "A", area = "40 mm^2", drawn = true },  # the first\n'
    '  { name = "B", area = "30 mm^2", drawn = true },\n]',
)


def test_rows_stay_in_lines_and_keep_their_remarks(tmp_path):
    ground = ground_of(tmp_path, TWO)
    text = written(ground, [Edit("groove", "stops.1.area", "25 mm^2")])
    assert text == ground.text.replace('"30 mm^2"', '"25 mm^2"')


def test_rows_of_one_note_are_written_a_line_each_in_the_units_of_the_file(tmp_path):
    ground = ground_of(tmp_path, TWO)
    text = written(ground, [Edit("groove", "stops.1.area", "25 mm^2", 60)], "Moved")
    assert text.removeprefix(ground.text) == (
        '\n# Moved\n\n[notes.C4.groove]\nstops = [\n  { name = "A", area = "40 mm^2", drawn = true },\n'
        '  { name = "B", area = "25 mm^2", drawn = true },\n]\n'
    )


HEADED = '[[train.stops]]\nname = "A"\narea = "0.4 cm^2"\n\n[[train.stops]]\nname = "B"\narea = "0.3 cm^2"  # {}\n'


def test_rows_under_headers_of_their_own(tmp_path):
    ground = ground_of(tmp_path, (TWO[0] + "\n", HEADED))
    text = written(ground, [Edit("groove", "stops.1.area", "0.25 cm^2"), Edit("box", "pressure", "75 mmH2O")])
    assert text == ground.text.replace('"0.3 cm^2"', '"0.25 cm^2"').replace('"70 mmH2O"', '"75 mmH2O"')
    own = written(ground, [Edit("groove", "stops.1.area", "0.25 cm^2", 60)])
    assert '{ name = "A", area = "0.4 cm^2" }' in own


def test_line_ends_are_kept(tmp_path):
    ground = ground_of(tmp_path, TWO)
    crlf = Ground(ground.text.replace("\n", "\r\n"), ground.naming, ground.fields, ground.case)
    edits = [Edit("groove", "stops.1.area", "25 mm^2"), Edit("key", "dip", "10 mm"), Edit("key", "dip", "9 mm", 60)]
    assert written(crlf, edits) == written(ground, edits).replace("\n", "\r\n")


def test_a_value_of_the_whole_compass_goes_over_those_that_notes_have_of_their_own(tmp_path):
    own = '\n[notes.C4.pallet-spring]\nforce = "2.5 N"\n[notes.D4.pallet-spring]\nrate = "14 N/m"\n'
    bench = Workbench.of(read_case(write_case(tmp_path, more=own)))
    flat = bench.with_edits([Edit("pallet-spring", "force", "2.8 N")]).part("pallet-spring").fields["force"]
    assert {given.value for given in flat.values()} == {2.8}
    points = Edit("pallet-spring", "force", {"between": "linear", "C4": "3 N", "G4": "2.3 N"})
    found = bench.with_edits([points]).part("pallet-spring").fields
    assert [found["force"][note].value for note in (60, 62, 67)] == pytest.approx([3.0, 2.8, 2.3])
    assert found["rate"][62].value == 14.0
    assert '[notes.C4.pallet-spring]\nforce = "3 N"' in bench.written([points])
    later = bench.with_edits([points, Edit("pallet-spring", "force", "2 N", 60)]).part("pallet-spring").fields
    assert later["force"][60].value == 2.0


def test_notes_that_keep_what_they_have_of_their_own(tmp_path):
    own = '\n[notes.C4.pallet-spring]\nforce = "2.5 N"\n[notes.D4.pallet-spring]\nforce = "2.2 N"\n'
    bench = Workbench.of(read_case(write_case(tmp_path, more=own)))
    moved = Edit("pallet-spring", "force", "2.8 N", keep=(60,))
    found = bench.with_edits([moved]).part("pallet-spring").fields["force"]
    assert [found[note].value for note in (60, 61, 62)] == [2.5, 2.8, 2.8]
    text = bench.written([moved])
    assert '[notes.C4.pallet-spring]\nforce = "2.5 N"\n[notes.D4.pallet-spring]\nforce = "2.8 N"' in text
    before, after = Edit("pallet-spring", "force", "2 N", 60), Edit("pallet-spring", "force", "2.1 N", 60)
    assert latest([before, Edit("pallet-spring", "force", "1 N", 62), moved]) == (before, moved)
    assert latest([before, moved, after]) == (moved, after)
    assert key_of([moved]) != key_of([Edit("pallet-spring", "force", "2.8 N")])
    told = {one.path: one.own for one in movable(bench.case, 64, "trade", bench.tables([]))["pallet-spring"]}
    assert [(one.note, one.text) for one in told["force"]] == [(60, "255 gf"), (62, "224 gf")] and not told["rate"]


def test_rows_of_a_note_that_keeps_them(tmp_path):
    own = '\n[notes.C4.groove]\nstops = [{ name = "Principal 8", area = "42 mm^2", drawn = true }]\n'
    bench = Workbench.of(read_case(write_case(tmp_path, more=own)))
    edits = [Edit("groove", "stops.0.area", "50 mm^2", keep=(60,)), Edit("groove", "stops.0.drawn", "false", 60)]
    found = bench.with_edits(edits).part("groove").fields
    assert [round(1e6 * found["stops.0.area"][note].value) for note in (60, 61)] == [42, 50]
    assert [found["stops.0.drawn"][note].value for note in (60, 61)] == [False, True]


def test_later_edits_take_the_place_of_earlier_ones():
    one, other = Edit("key", "dip", "9 mm", 60), Edit("key", "dip", "10 mm", 61)
    whole, front = Edit("key", "dip", "9.5 mm"), Edit("key", "front", "210 mm")
    assert latest([one, front, other, Edit("key", "dip", "8 mm", 60)]) == (front, other, Edit("key", "dip", "8 mm", 60))
    assert latest([one, other, front, whole]) == (front, whole)
    assert latest([whole, one]) == (whole, one)
    assert len({key_of([whole]), key_of([one]), key_of([Edit("key", "dip", {"C4": "9 mm"})])}) == 3


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        (Edit("kex", "dip", "9 mm"), "no part 'kex'"),
        (Edit("key", "dipp", "9 mm"), "key: no field 'dipp'"),
        (Edit("groove", "stops.4.area", "9 mm^2"), "there is no row 4"),
        (Edit("groove", "stops.4.area", "9 mm^2", 60), "there is no row 4"),
        (Edit("key", "leads.0.mass", "9 g"), "there is no row 0"),
        (Edit("key", "leads.0.mass", "9 g", 60), "'leads' has no rows at this note"),
    ],
)
def test_what_the_case_does_not_have(tmp_path, edit, said):
    bench = Workbench.of(read_case(write_case(tmp_path)))
    with pytest.raises(UnknownField, match=said) as found:
        bench.with_edits([edit])
    assert found.value.part == edit.part


def test_a_value_is_written_in_the_unit_that_the_file_has(tmp_path):
    case = read_case(write_case(tmp_path))
    spring = case.part("pallet-spring")
    force = field_at(spring.part.fields, "force")
    given = spring.fields["force"][60]
    assert as_text(force, given, "2 N") == as_text(force, given, {"between": "linear", "C4": "1 N"}) == "3 N"
    assert as_text(force, given, "2 mm") == as_text(force, given) == "305.9148639 gf"
    box = case.part("box")
    told = {
        path: as_text(field_at(box.part.fields, path), box.fields[path][60]) for path in ("temperature", "pressure")
    }
    assert told == {"temperature": "20 degC", "pressure": "70 mmH2O"}


def test_a_file_with_defects_is_ground_too():
    text = spoilt(('dip = "9.5 mm"', 'dip = "9.5"'))
    ground = Ground.unsound(text, tomllib.loads(text))
    edit = Edit("key", "dip", "9.5 mm")
    assert written(ground, [edit]) == spoilt()
    assert overlaid(ground, tomllib.loads(text), [edit]) == tomllib.loads(spoilt())
    with pytest.raises(UnknownField, match="mend the case first"):
        overlaid(ground, tomllib.loads(text), [Edit("groove", "stops.0.area", "9 mm^2", 60)])


def test_an_unknown_name_in_a_row_is_taken_out_and_given_its_right_one():
    text = spoilt((TWO[0], TWO[1].replace('area = "30', 'aera = "30')))
    ground = Ground.unsound(text, tomllib.loads(text))
    edits = [Edit("groove", "stops.1.aera", None), Edit("groove", "stops.1.area", "30 mm^2")]
    meant = overlaid(ground, tomllib.loads(text), edits)
    assert meant == tomllib.loads(spoilt(TWO))
    assert tomllib.loads(written(ground, edits)) == meant


def test_a_field_that_is_taken_out_has_its_default_again(tmp_path):
    bench = Workbench.of(read_case(write_case(tmp_path)))
    out = [Edit("pull-down", "moves", None)]
    before, found = (bench.with_edits(edits).part("pull-down").fields["moves"][60] for edits in ([], out))
    assert found.default and not before.default
    assert bench.written(out) == bench.text.replace('moves = "down"\n', "")


def test_a_plain_number_that_is_too_small_to_be_held_is_no_zero():
    field = next(field for kind in PARTS.values() for _, field in paths(kind.fields) if field.kind == "number")
    library = default_library()
    for text in ("1e-400", "-0.5e-330"):
        with pytest.raises(BadValue, match="too small to be a number; write 0 if that is meant"):
            read_scalar(field, from_text(field, text), library)
    assert from_text(field, "0e-400") == from_text(field, "-0.0") == 0
