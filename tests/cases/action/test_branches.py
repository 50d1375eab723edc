"""A case whose train branches: a rod that leads on from another part, and pallets that feed a groove together."""

import re

import pytest
from short_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.reliance import assumptions_of
from keyaction.cases.action.trains import check_trains, train_of
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.parts import PARTS
from keyaction.models.train.equations import _assemble
from keyaction.models.train.printing import as_text
from keyaction.models.train.train import TrainProblem
from keyaction.sim.figures.sketch import sketch
from keyaction.sim.sweep.table import evaluate

SECOND = """
[[train]]
part = "pull-down"
name = "second-wire"
from = {where}
length = "250 mm"
material = "phosphor-bronze"
section = "round"
diameter = "1.5 mm"
moves = "down"

[[train]]
part = "pallet"
name = "second"
opening_length = "190 mm"
opening_width = "14 mm"
hinge_to_opening = "12 mm"
sealing_margin = "1.5 mm"
eye = "165 mm"
opens = "down"
thickness = "18 mm"
material = "eastern-white-pine"
seat = {{ material = "pallet-felt", thickness = "3 mm", area = "1500 mm^2" }}

[[train]]
part = "spring"
name = "second-spring"
at = "100 mm"
force = "3 N"
rate = "12 N/m"
"""
GROOVE = '\n[[train]]\npart = "groove"'


def case_with(folder, where='"key"', second=SECOND, layout=""):
    path = write_case(folder)
    text = path.read_text(encoding="utf-8")
    assert text.count(GROOVE) == 1
    path.write_text(text.replace(GROOVE, second.format(where=where) + GROOVE) + layout, encoding="utf-8")
    return path


def test_a_part_or_a_part_with_its_end(tmp_path):
    for where in ('"key"', '{ part = "key", end = "out" }'):
        case = read_case(case_with(tmp_path, where))
        assert case.part("second-wire").after == ("key", "out")
        train = train_of(case, "C4")
        assert [member.after for member in train.structure if member.after] == [("key", "out")]


def test_whatever_makes_trains_of_a_case_keeps_the_branch(tmp_path):
    case = read_case(case_with(tmp_path))
    train = train_of(case, "C4")
    assert all(one.structure == train.structure for one in check_trains(case, case.compass).values())
    assert any(one.owner == "second" for one in assumptions_of(case))
    assert "second_wire" in as_text(train.system())
    assert re.search(r"second-wire.* 0\.625 ", sketch(train))  # 250 : 400 as the first


def test_a_table_of_changes_keeps_the_branch(tmp_path):
    case = read_case(case_with(tmp_path))
    found = evaluate(case, "C4", {"second-spring.force": ["3 N", "4 N"]}, ["pluck_force"])
    pluck = found["pluck_force"].ravel()
    assert pluck[1] > pluck[0] + 0.1


@pytest.mark.parametrize(
    ("where", "told"),
    [
        ('"kee"', "no key, lever or pallet of this name stands before it; did you mean 'key'?"),
        ('"second"', "stands behind it"),
        ('"pallet-spring"', "no key, lever or pallet of this name stands before it"),
        ('{ part = "key", end = "tail" }', "key has no such outlet; known: out"),
        ("3", 'a part before it is needed, "NAME", or { part = "NAME", end = "out" }'),
        ('{ part = "key", side = "left" }', 'a part before it is needed, "NAME"'),
    ],
)
def test_what_cannot_be_led_on_from(tmp_path, where, told):
    with pytest.raises(CaseProblem) as caught:
        read_case(case_with(tmp_path, where))
    assert any("[[train]] second-wire, field 'from" in str(one) and told in str(one) for one in caught.value.defects)


def test_only_rods_lead_on(tmp_path):
    second = SECOND.replace('name = "second"\n', 'name = "second"\nfrom = "key"\n')
    with pytest.raises(CaseProblem, match="only a tracker, sticker or pull-down leads on from another part"):
        read_case(case_with(tmp_path, second=second))


def test_a_layout_of_a_train_that_branches_is_refused(tmp_path):
    layout = '\n[layout.chest]\norder = "chromatic"\nbar = "6 mm"\n'
    with pytest.raises(CaseProblem, match="a train that branches cannot be laid out; take \\[layout\\] out"):
        read_case(case_with(tmp_path, layout=layout))


def test_a_pallet_of_a_branch_needs_its_spring(tmp_path):
    second = SECOND[: SECOND.index('\n[[train]]\npart = "spring"')]
    case = read_case(case_with(tmp_path, second=second))
    with pytest.raises(TrainProblem, match="second: its spring and its groove follow a pallet"):
        check_trains(case, case.compass[:1])


def test_outlets_that_parts_declare_are_those_of_their_equations():
    kinds = ("two-pallets", "two-stage-beam", "pneumatic-lever", "relief-pallet", "demo-wood", "sticker-backfall")
    seen = set()
    for kind in kinds:
        case = read_case(kind)
        train = train_of(case, case.compass[0])
        made = _assemble(train.structure, rider=False).outlets
        for part in train.parts:
            assert tuple(name for of, name in made if of == part.name) == part.part.outlets, part.name
            seen.add(part.kind)
    assert {kind for kind, part in PARTS.items() if part.outlets} - seen <= {"pedal-key"}
