"""The table [spreads] of a case: what it may say, and everything that is wrong with it at once."""

from __future__ import annotations

import pytest
from short_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.study.spreads import uncertain, without_spread
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.spreads.table import Size

GOOD = """
[spreads]
box.pressure = { common = "1 mmH2O", form = "even", source = "our gauge" }
materials.spruce.E = { common = "10 %", note = "5 %" }
key = { dip = { note = "0.1 mm" } }
"""


def test_a_case_says_its_own(tmp_path):
    case = read_case(write_case(tmp_path, more=GOOD))
    assert list(case.spreads) == ["box.pressure", "materials.sitka-spruce.E", "key.dip"]
    pressure = case.spreads["box.pressure"]
    assert (pressure.common.value, pressure.common.share) == (pytest.approx(9.80665), False)
    assert (pressure.note, pressure.form, pressure.told) == (Size(0.0, True), "even", "our gauge")
    by_name = {one.name: one for one in uncertain(case, case.compass)}
    assert by_name["box.pressure"].pieces == ()
    assert by_name["key.dip"].common.size == 0.0
    assert by_name["key.dip"].pieces[0].deviation.size == pytest.approx(1e-4)
    # The modulus of the keys' wood is told, and no figure comes of it here or all do: it is never asked for twice.
    assert list(by_name).count("sitka-spruce.E") <= 1


def test_another_spread_is_another_case(tmp_path):
    plain = read_case(write_case(tmp_path))
    assert plain.spreads == {}
    assert read_case(write_case(tmp_path, more=GOOD)).fingerprint != plain.fingerprint


BAD = """
[spreads]
bx.pressure = { common = "1 mmH2O" }
box.presure = { common = "1 mmH2O" }
box.temperature = { common = "5 degC" }
key.balance = { common = "1 %" }
key.dip = "0.1 mm"
key.front = { comon = "1 mm" }
key.arm = { note = "1 kg" }
pallet.eye = { common = "1 mm", form = "flat", nose = 3 }
materials.spruse.E = { common = "10 %" }
pallet-spring.force = { common = "150 %" }
"""


def test_every_defect_is_told_at_once(tmp_path):
    with pytest.raises(CaseProblem) as caught:
        read_case(write_case(tmp_path, more=BAD))
    told = {one.field: one.message for one in caught.value.defects}
    assert {one.table for one in caught.value.defects} == {"[spreads]"}
    for field, words in {
        "bx.pressure": "unknown part 'bx'; did you mean 'box'?",
        "box.presure": "no field 'presure'; did you mean 'pressure'?",
        "box.temperature.common": "written in K",
        "key.balance": "a choice has no spread",
        "key.dip": "what all notes share, and what each has of its own",
        "key.front": "what all notes share, and what each has of its own",
        "key.arm.note": "a length is needed",
        "pallet.eye.form": "allowed: normal, even",
        "pallet.eye.nose": "did you mean 'note'?",
        "materials.spruse.E": "spruce",
        "pallet-spring.force.common": "0 % to 100 %",
    }.items():
        assert words in told[field], (field, told.get(field))


def test_the_table_itself_may_be_none(tmp_path):
    with pytest.raises(CaseProblem, match=r"\[spreads\].*a table is needed"):
        read_case(write_case(tmp_path, ("format = 1\n", "format = 1\nspreads = 3\n")))


def test_every_field_of_the_shipped_cases_has_a_spread():
    for name in ("demo-wood", "demo-carbon"):
        assert without_spread(read_case(name)) == ()
