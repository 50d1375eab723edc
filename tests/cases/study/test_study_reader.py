"""Study files: a sound one read as it is meant, and every defect of a bad one named at once."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from small_study import HEAD, VARY, text, write_study

from keyaction.cases.study.find import shipped_studies
from keyaction.cases.study.plans import PLANS, SIZES
from keyaction.cases.study.reader import read_study
from keyaction.cases.study.spans import Choices, Normal, Range
from keyaction.cases.text.defects import CaseProblem, Defect
from keyaction.sim.lanes.evaluate import available
from keyaction.sim.sweep.sweep import load_study

RANDOM = 'plan = "random"\ndesigns = 4'
ONE = '[[vary]]\nfield = "pull-down.diameter"\n'


def defects(folder: Path, content: str) -> list[Defect]:
    """The defects of a study that must be refused; nothing but the study and its case is left in the folder."""
    path = write_study(folder)
    path.write_text(content, encoding="utf-8")
    with pytest.raises(CaseProblem) as caught:
        load_study(path)
    assert sorted(one.name for one in folder.iterdir()) == ["chest.csv", "short.toml", "small.toml"]
    return caught.value.defects


def only(folder: Path, content: str, table: str, field: str, *words: str) -> None:
    """The study has one defect, there, that says these words."""
    found = defects(folder, content)
    assert len(found) == 1, "\n".join(map(str, found))
    one = found[0]
    assert (one.file, one.table, one.field) == ("small.toml", table, field)
    for word in words:
        assert word in one.message, one.message


# -- sound studies ---------------------------------------------------------------------------------------
def test_a_sound_study(tmp_path):
    study = load_study(write_study(tmp_path))
    assert (study.title, study.plan, study.size, study.seed) == ("Small", "random", 24, 1)
    assert study.notes == tuple(range(60, 68))
    assert study.quantities == ("pluck_force", "opening_time", "train_frequency")
    wire, spring = study.inputs
    assert (wire.name, wire.span, wire.unit, wire.factor) == ("pull-down.diameter", Range(1e-3, 2e-3), "m", False)
    assert (spring.name, spring.span, spring.unit, spring.factor) == ("spring", Range(0.9, 1.2), "", True)


def test_everything_is_computed_at_every_note_unless_the_study_says_otherwise(tmp_path):
    study = load_study(write_study(tmp_path, RANDOM, head=""))
    assert study.quantities == available()
    assert len(study.notes) == 8


@pytest.mark.parametrize(
    ("vary", "span"),
    [
        ('field = "pull-down.diameter"\nlow = "1 mm"\nhigh = "2 mm"\nspacing = "log"', Range(1e-3, 2e-3, log=True)),
        ('field = "pull-down.diameter"\nmean = "1.5 mm"\nsd = "0.1 mm"', Normal(1.5e-3, 1e-4)),
        ('field = "pull-down.diameter"\nvalues = ["1 mm", "2 mm"]', Choices((1e-3, 2e-3))),
        ('field = "pull-down.material"\nvalues = ["phosphor-bronze", "bronze"]', None),
        ('field = "pull-down.material"\nvalues = ["phosphor-bronze", "steel"]', Choices(("phosphor-bronze", "steel"))),
        ('field = "pallet-spring.force"\nscale_sd = 0.05', Normal(1.0, 0.05)),
        ('field = "strokes.down"\nlow = "30 ms"\nhigh = "60 ms"', Range(0.03, 0.06)),
        ('field = "materials.sitka-spruce.E"\nscale = [0.9, 1.1]', Range(0.9, 1.1)),
        ('field = "materials.cloth-on-pin.coefficient"\nlow = 0.1\nhigh = "40 %"', Range(0.1, 0.4)),
        ('field = "groove.stops.0.drawn"\nvalues = [true, false]', Choices((True, False))),
    ],
)
def test_ways_to_vary(tmp_path, vary, span):
    content = text(RANDOM, f"[[vary]]\n{vary}")
    if span is None:  # two names of one material
        only(tmp_path, content, "[[vary]] pull-down.material", "values", "given twice")
    else:
        path = write_study(tmp_path)
        path.write_text(content, encoding="utf-8")
        found = load_study(path).inputs[0].span
        assert type(found) is type(span)
        data = vars(span).items()
        assert all(
            getattr(found, name) == (value if not isinstance(value, float) else pytest.approx(value))
            for name, value in data
        )


OPTIONS = """
[[vary]]
name = "wire"
[vary.options.bronze]
pull-down = { material = "phosphor-bronze", diameter = "1.5 mm" }
[vary.options."thin steel"]
pull-down = { material = "steel", diameter = "0.8 mm" }
"""


def test_options_bring_their_own_fields(tmp_path):
    (wire,) = load_study(write_study(tmp_path, RANDOM, OPTIONS)).inputs
    assert wire.labels == ("bronze", "thin steel")
    assert [(target.path, value) for target, value in wire.settings[1]] == [
        ("pull-down.material", "steel"),
        ("pull-down.diameter", pytest.approx(0.8e-3)),
    ]
    assert {target.path for target in wire.reached} == {"pull-down.material", "pull-down.diameter"}


def test_values_set_for_the_whole_study(tmp_path):
    content = text(RANDOM) + '[set]\nstrokes.down = "30 ms"\n"key.dip" = "9 mm"\n'
    path = write_study(tmp_path)
    plain = load_study(path)
    path.write_text(content, encoding="utf-8")
    study = load_study(path)
    assert study.case.strokes.down == pytest.approx(0.03)
    assert study.case.values(60, study.case.part("key"))["dip"].value == pytest.approx(9e-3)
    assert study.case.fingerprint != plain.case.fingerprint


def test_remarks_and_the_title_do_not_change_what_a_study_means(tmp_path):
    plain = load_study(write_study(tmp_path)).meaning()
    path = tmp_path / "small.toml"
    path.write_text(text().replace('"Small"', '"Large"') + "# a remark\n", encoding="utf-8")
    assert load_study(path).meaning() == plain
    path.write_text(text().replace('"2 mm"', '"2.1 mm"'), encoding="utf-8")
    assert load_study(path).meaning() != plain


def test_shipped_studies_are_sound_and_found_by_name():
    assert {"quick", "materials", "paper"} <= set(shipped_studies())
    for name in shipped_studies():
        assert load_study(name).inputs
    paper = load_study("paper")
    assert len(paper.inputs) == 12
    assert len(paper.notes) == 1


# -- spreads ---------------------------------------------------------------------------------------------
TOLERANCES = 'plan = "tolerances"\ndesigns = 4'


def test_a_case_s_own_spreads(tmp_path):
    study = load_study(write_study(tmp_path, TOLERANCES, vary=""))
    by_name = {one.name: one for one in study.inputs}
    stiffness = by_name["pallet-felt.stiffness"]
    assert (stiffness.how, stiffness.span.size) == ("factor", pytest.approx(0.6 * 0.75**0.5))
    assert by_name["phosphor-bronze.E"].span.size == pytest.approx(0.08 * 0.9**0.5)
    assert by_name["key.pin.breakaway"].source.startswith("assumed: ")
    seal = by_name["pallet.sealing_margin"]
    assert (seal.how, seal.span.even, seal.unit) == ("offset", True, "m")
    assert seal.span.ends == pytest.approx((-1.5e-3, 1.5e-3))
    assert {"box.pressure", "pallet-spring.force"} <= set(by_name)
    # Shrinkage and strength have spreads too, but nothing here hangs on them; maple is not in this action.
    assert not [name for name in by_name if "shrinkage" in name or "strength" in name or "maple" in name]


def test_each_note_has_deviations_of_its_own(tmp_path):
    study = load_study(write_study(tmp_path, TOLERANCES, vary=""))
    pieces = {f"{one.part}.{one.path}": one.deviation for one in study.pieces}
    assert pieces["pallet-spring.force"].size == pytest.approx(0.05)
    assert pieces["pallet.material.density"].size == pytest.approx(0.1 * 0.5**0.5)
    assert "box.temperature" not in pieces


def test_what_a_measured_figure_replaces_is_not_scattered(tmp_path):
    plain = load_study(write_study(tmp_path, TOLERANCES, vary=""))
    measured = '[set]\npull-down.stiffness = "60 N/mm"\npull-down.mass = "5 g"\n'
    study = load_study(write_study(tmp_path, TOLERANCES, vary=measured))
    gone = {one.name for one in plain.inputs} - {one.name for one in study.inputs}
    assert {"pull-down.end_stiffness", "pull-down.end_mass", "pull-down.diameter", "phosphor-bronze.E"} <= gone
    assert {"pull-down.stiffness", "pull-down.mass"} <= {one.name for one in study.inputs}


def test_a_study_says_its_own_spreads(tmp_path):
    own = """[spreads]
box.pressure = { common = "4 %" }
pallet-spring.force = { note = "0.1 N", form = "even", source = "our balance" }
materials.spruce.density = { common = "0 %", note = "0 %" }
"""
    study = load_study(write_study(tmp_path, TOLERANCES, vary=own))
    by_name = {one.name: one for one in study.inputs}
    assert (by_name["box.pressure"].how, by_name["box.pressure"].span.size) == ("factor", 0.04)
    assert "pallet-spring.force" not in by_name
    (spring,) = [one.deviation for one in study.pieces if one.part == "pallet-spring" and one.path == "force"]
    assert (spring.size, spring.factor, spring.even) == (0.1, False, True)
    assert not [name for name in by_name if name == "sitka-spruce.density"]
    assert study.meaning() != load_study(write_study(tmp_path, TOLERANCES, vary="")).meaning()


def test_spreads_beside_another_plan_are_refused(tmp_path):
    only(tmp_path, text(RANDOM) + '[spreads]\nbox.pressure = { common = "4 %" }\n', "[spreads]", "", "no meaning")


def test_what_a_study_varies_itself_has_no_spread_beside_it(tmp_path):
    vary = '[[vary]]\nfield = "materials.pallet-felt.stiffness"\nscale = [0.5, 2]\n'
    study = load_study(write_study(tmp_path, 'plan = "tolerances"\ndesigns = 4', vary=vary))
    names = [target.path for one in study.inputs for target in one.reached]
    assert names.count("materials.pallet-felt.stiffness") == 1
    assert study.inputs[0].span == Range(0.5, 2.0)


# -- bad studies -----------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("content", "table", "field", "words"),
    [
        (text(RANDOM, "").replace("format = 1", "format = 9"), "top of the file", "format", ["too new"]),
        (text(RANDOM) + "[vari]\nx = 1\n", "[vari]", "", ["unknown table", "'vary'"]),
        (text("designs = 4"), "[study]", "plan", ["missing", "grid, one-at-a-time"]),
        (text('plan = "soboll"\nbase_points = 4'), "[study]", "plan", ["did you mean 'sobol'?"]),
        (text('plan = "random"'), "[study]", "designs", ["missing; how many designs"]),
        (text('plan = "random"\ndesigns = 0'), "[study]", "designs", ["allowed: 1 to"]),
        (text('plan = "random"\ndesigns = -3'), "[study]", "designs", ["allowed: 1 to"]),
        (text('plan = "random"\ndesigns = "many"'), "[study]", "designs", ["whole number"]),
        (text(RANDOM + "\nseed = -1"), "[study]", "seed", ["allowed: 0 to"]),
        (text(RANDOM + "\ndesigns_ = 4"), "[study]", "designs_", ["unknown field", "'designs'"]),
        (text(RANDOM + "\nsecond_order = true"), "[study]", "second_order", ["no meaning"]),
        (text(RANDOM + "\nlevels = 3"), "[study]", "levels", ["no meaning"]),
        (text('plan = "morris"\ntrajectories = 4\nlevels = 3'), "[study]", "levels", ["even"]),
        (text('plan = "grid"\ndesigns = 4'), "[study]", "designs", ["follows from its levels"]),
        (text('plan = "one-at-a-time"\nruns = 4'), "[study]", "runs", ["follows from its levels"]),
        (text('plan = "sobol"\nruns = 4'), "[study]", "runs", ["unknown; the plan sobol has base_points"]),
        (text('plan = "morris"\ndesigns = 4'), "[study]", "designs", ["unknown; the plan morris has trajectories"]),
        (text(RANDOM + "\nbase_points = 4"), "[study]", "base_points", ["unknown; the plan random has designs"]),
        (text(RANDOM, head='notes = "C9"\n'), "[study]", "notes", ["C9", "C4 to G4"]),
        (text(RANDOM, head='notes = "G4:C4"\n'), "[study]", "notes", ["downwards"]),
        (text(RANDOM, head="notes = 60\n"), "[study]", "notes", ["text in quotes"]),
        (text(RANDOM, head='quantities = ["pluck_forse"]\n'), "[study]", "quantities", ["did you mean 'pluck_force'?"]),
        (text(RANDOM, head='quantities = ["xyz"]\n'), "[study]", "quantities", ["known: key_dip"]),
        (text(RANDOM, head="quantities = []\n"), "[study]", "quantities", ["list of names"]),
        (text(RANDOM, head='quantities = ["bounce", "bounce"]\n'), "[study]", "quantities", ["given twice"]),
        (text(RANDOM, ""), "[[vary]]", "", ["nothing varies"]),
        (text(RANDOM, '[vary]\nfield = "key.dip"\n'), "[[vary]]", "", ["double brackets"]),
        (text(RANDOM, ONE), "[[vary]] pull-down.diameter", "", ["say how it varies"]),
        (text(RANDOM, ONE + 'low = "1 mm"\nvalues = ["2 mm"]'), "[[vary]] pull-down.diameter", "", ["2 ways at once"]),
        (text(RANDOM, ONE + 'low = "1 mm"'), "[[vary]] pull-down.diameter", "high", ["low and high"]),
        (text(RANDOM, ONE + 'low = "2 mm"\nhigh = "1 mm"'), "[[vary]] pull-down.diameter", "high", ["empty range"]),
        (text(RANDOM, ONE + 'low = "1 mm"\nhigh = "1 mm"'), "[[vary]] pull-down.diameter", "high", ["empty range"]),
        (text(RANDOM, ONE + 'low = "1 kg"\nhigh = "2 mm"'), "[[vary]] pull-down.diameter", "low", ["length"]),
        (text(RANDOM, ONE + 'low = 1\nhigh = "2 mm"'), "[[vary]] pull-down.diameter", "low", ["text with a unit"]),
        (
            text(RANDOM, ONE + 'low = "1 mm"\nhigh = "2 km"'),
            "[[vary]] pull-down.diameter",
            "high",
            ["allowed: 0.007 mm to 200 mm"],
        ),
        (
            text(RANDOM, ONE + 'low = "1 mm"\nhigh = "2 mm"\nspacing = "cubic"'),
            "[[vary]] pull-down.diameter",
            "spacing",
            ["log"],
        ),
        (text(RANDOM, ONE + 'mean = "1 mm"\nsd = "0.5 mm"'), "[[vary]] pull-down.diameter", "sd", ["-0.5 mm"]),
        (text(RANDOM, ONE + 'mean = "1 mm"\nsd = "0 mm"'), "[[vary]] pull-down.diameter", "sd", ["above 0"]),
        (text(RANDOM, ONE + 'mean = "1 mm"'), "[[vary]] pull-down.diameter", "sd", ["mean and sd"]),
        (text(RANDOM, ONE + "values = []"), "[[vary]] pull-down.diameter", "values", ["empty range"]),
        (text(RANDOM, ONE + 'values = ["1 mm", "x"]'), "[[vary]] pull-down.diameter", "values", ["number"]),
        (text(RANDOM, ONE + "scale = [1.1, 0.9]"), "[[vary]] pull-down.diameter", "scale", ["empty range"]),
        (text(RANDOM, ONE + "scale = 1.1"), "[[vary]] pull-down.diameter", "scale", ["two factors"]),
        (text(RANDOM, ONE + "scale = [0, 2]"), "[[vary]] pull-down.diameter", "scale", ["above 0"]),
        (text(RANDOM, ONE + "scale = [1, 900]"), "[[vary]] pull-down.diameter", "scale", ["1350 mm", "at C4"]),
        (text(RANDOM, ONE + "scale_sd = 0.5"), "[[vary]] pull-down.diameter", "scale_sd", ["up to 0.33"]),
        (
            text(RANDOM, ONE + 'low = "1 mm"\nhigh = "2 mm"\nlevels = 4'),
            "[[vary]] pull-down.diameter",
            "levels",
            ["no meaning"],
        ),
        (
            text('plan = "grid"', ONE + 'low = "1 mm"\nhigh = "2 mm"\nlevels = 1'),
            "[[vary]] pull-down.diameter",
            "levels",
            ["2 to 1000"],
        ),
        (text('plan = "grid"', ONE + "scale_sd = 0.1"), "[[vary]] pull-down.diameter", "", ["has levels"]),
        (
            text(RANDOM, ONE + 'low = "1 mm"\nhigh = "2 mm"\nhihg = 1'),
            "[[vary]] pull-down.diameter",
            "hihg",
            ["did you mean 'high'?"],
        ),
        (text(RANDOM, ONE + 'name = "a/b"\nscale = [0.9, 1.1]'), "[[vary]] a/b", "name", ["letters"]),
        (
            text(RANDOM, '[[vary]]\nfield = "pulldown.x"\nscale = [1, 2]'),
            "[[vary]] pulldown.x",
            "field",
            ["'pull-down'"],
        ),
        (text(RANDOM, '[[vary]]\nfield = "key.dipp"\nscale = [1, 2]'), "[[vary]] key.dipp", "field", ["'dip'"]),
        (text(RANDOM, '[[vary]]\nfield = "key"\nscale = [1, 2]'), "[[vary]] key", "field", ["which field"]),
        (
            text(RANDOM, '[[vary]]\nfield = "groove.stops.4.area"\nscale = [1, 2]'),
            "[[vary]] groove.stops.4.area",
            "field",
            ["no such row"],
        ),
        (
            text(RANDOM, '[[vary]]\nfield = "key.mass"\nscale = [1, 2]'),
            "[[vary]] key.mass",
            "field",
            ["no value to scale"],
        ),
        (
            text(RANDOM, '[[vary]]\nfield = "key.material"\nscale = [1, 2]'),
            "[[vary]] key.material",
            "",
            ["give values"],
        ),
        (
            text(RANDOM, '[[vary]]\nfield = "key.material"\nvalues = ["sitka-sproce"]'),
            "[[vary]] key.material",
            "values",
            ["sitka-spruce"],
        ),
        (
            text(RANDOM, '[[vary]]\nfield = "materials.oakk.E"\nscale = [1, 2]'),
            "[[vary]] materials.oakk.E",
            "field",
            ["not known"],
        ),
        (
            text(RANDOM, '[[vary]]\nfield = "materials.steel.coefficient"\nscale = [1, 2]'),
            "[[vary]] materials.steel.coefficient",
            "field",
            ["steel has no 'coefficient'"],
        ),
        (
            text(RANDOM, '[[vary]]\nfields = ["key.dip", "key.material"]\nvalues = ["9 mm"]'),
            "[[vary]] key.dip",
            "fields",
            ["one kind"],
        ),
        (text(RANDOM, "[[vary]]\nfields = []\nscale = [1, 2]"), "[[vary]] number 1", "fields", ["list of texts"]),
        (text(RANDOM, VARY + ONE + "scale = [1, 2]"), "[[vary]] pull-down.diameter", "name", ["2 inputs"]),
        (
            text(RANDOM, VARY + ONE + 'name = "again"\nscale = [1, 2]'),
            "[[vary]]",
            "pull-down.diameter",
            ["varied by 2 tables"],
        ),
        (text(RANDOM, OPTIONS.replace('name = "wire"', "")), "[[vary]] number 1", "name", ["missing"]),
        (text(RANDOM, '[[vary]]\nname = "w"\noptions = {}'), "[[vary]] w", "options", ["empty range"]),
        (
            text(RANDOM, OPTIONS.replace('"0.8 mm"', '"0.8"')),
            "[[vary]] wire",
            "options.thin steel.pull-down.diameter",
            ["no unit"],
        ),
        (text(RANDOM) + '[set]\nkey.dipp = "9 mm"\n', "[set]", "key.dipp", ["unknown field", "'dip'"]),
        (text(RANDOM) + "[set]\nkey.dip = []\n", "[set]", "key.dip", ["one value"]),
        (text(RANDOM).replace('"short.toml"', '"shrt.toml"'), "[study]", "case", ["no such file"]),
        (text(RANDOM).replace('case = "short.toml"\n', ""), "[study]", "case", ["missing"]),
    ],
)
def test_one_defect(tmp_path, content, table, field, words):
    found = defects(tmp_path, content)
    told = [one for one in found if (one.table, one.field) == (table, field)]
    assert told, "\n".join(map(str, found))
    assert len(found) == (2 if "2 inputs" in words else 1), "\n".join(map(str, found))
    for word in words:
        assert word in told[0].message, told[0].message


def test_one_at_a_time_needs_a_place_to_start_from(tmp_path):
    vary = '[[vary]]\nfield = "pull-down.length"\nlow = "200 mm"\nhigh = "300 mm"\n'
    content = text('plan = "one-at-a-time"', vary)
    only(tmp_path, content, "[[vary]] pull-down.length", "field", "no single value")
    path = tmp_path / "small.toml"
    path.write_text(content.replace('"all"', '"C4"'), encoding="utf-8")
    assert load_study(path).inputs[0].levels == 2


def test_all_defects_at_once_with_those_of_the_case(tmp_path):
    content = text('plan = "random"\ndesigns = 0', VARY.replace('"1 mm"', '"1"')).replace('["pluck_force"', '["pluck"')
    found = defects(tmp_path, content)
    assert {(one.table, one.field) for one in found} == {
        ("[study]", "designs"),
        ("[study]", "quantities"),
        ("[[vary]] pull-down.diameter", "low"),
    }
    case = tmp_path / "short.toml"
    case.write_text(case.read_text(encoding="utf-8").replace('dip = "9.5 mm"', 'dip = "9.5"'), encoding="utf-8")
    found = defects(tmp_path, content)
    assert ("short.toml", "[[train]] key", "dip") in {(one.file, one.table, one.field) for one in found}
    assert ("small.toml", "[study]", "designs") in {(one.file, one.table, one.field) for one in found}


@pytest.mark.parametrize("name", ["quik", "nothing-like-it", "x" * 5000, "a\0b"])
def test_a_study_that_is_not_there(tmp_path, monkeypatch, name):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(CaseProblem, match="no such file") as caught:
        load_study(name)
    assert "quick" in str(caught.value)


@pytest.mark.parametrize("content", ["", "format = 1\n[study", "\0", "format = 1\nstudy = 3\nvary = 4\nset = 5"])
def test_what_is_no_study_at_all(tmp_path, content):
    path = tmp_path / "bad.toml"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(CaseProblem):
        load_study(path)


def test_too_many_designs_are_refused_before_anything_is_made(tmp_path):
    vary = "".join(
        f'[[vary]]\nfield = "{field}"\nscale = [0.9, 1.1]\nlevels = 1000\n'
        for field in ("key.dip", "key.front", "key.arm")
    )
    only(tmp_path, text('plan = "grid"', vary), "[study]", "", "8e+09 designs", "1e+09")


@pytest.mark.parametrize("plan", sorted(SIZES))
def test_large_plans_are_read_as_far_as_they_can_be_computed(tmp_path, plan):
    # A plan of more than a million designs was refused, though only the latin one is kept whole.
    most = 10_000_000 if plan == "latin" else 1_000_000_000
    wide = f'plan = "{plan}"\n{SIZES[plan]} = '
    assert read_study(write_study(tmp_path, f"{wide}{most}"), available()).size == most
    with pytest.raises(CaseProblem, match="out of range"):
        read_study(write_study(tmp_path, f"{wide}{most + 1}"), available())


def test_every_plan_can_be_read(tmp_path):
    for plan in PLANS:
        size = f"{SIZES[plan]} = 4" if plan in SIZES else ""
        study = read_study(write_study(tmp_path, f'plan = "{plan}"\n{size}'), available())
        assert (study.plan, study.size) == (plan, 4 if size else 0)


def test_limits_of_the_reader_are_numbers(tmp_path):
    for value in ("nan", "inf", "-inf", str(2**70)):
        found = defects(tmp_path, text(RANDOM, f"{ONE}scale = [{value}, 2]"))
        assert found
    assert np.isfinite(load_study(write_study(tmp_path)).inputs[1].span.ends).all()
    assert HEAD.startswith("format")
