"""Designs built together come out as each built alone: parameters, figures, words, to the last bit."""

from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.fields.tables import field_at
from keyaction.cases.study.inputs import Input, Target
from keyaction.cases.study.reader import read_study
from keyaction.cases.study.spans import Choices, Deviation, Normal, Range
from keyaction.cases.study.spreads import pieces_of, uncertain
from keyaction.cases.study.vary import find_target
from keyaction.models.many.many import Many
from keyaction.models.train.train import Train, build_train
from keyaction.sim.code.kernel import load_kernel
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.lanes.evaluate import available
from keyaction.sim.sweep import rows as together
from keyaction.sim.sweep.alike import alike
from keyaction.sim.sweep.designs import make_design, recipe, recipe_of
from keyaction.sim.sweep.manifest import plan_of
from keyaction.sim.sweep.rows import design_rows

SHIPPED = ("quick", "paper", "materials")
KINDS = sorted((Path(__file__).parents[3] / "cases" / "kinds").glob("*.toml"))
MATERIALS = ("cloth-on-pin", "leather-on-pin", "sitka-spruce", "western-redcedar")


def assert_as_alone(made, plan, first=0):
    """Everything that `design_rows` says of rows is what `make_design` says of each; how many trains there are."""
    found = design_rows(made, plan, first)
    at = {place: (group, k) for group in found.groups for k, place in enumerate(group.places.tolist())}
    assert all(np.all(np.diff(group.places) > 0) for group in found.groups)
    notes, count = len(made.notes), 0
    for d, row in enumerate(plan):
        design = make_design(made, row, first + d)
        assert np.array_equal(found.values[d], np.array(design.values), equal_nan=True)
        for i, train in enumerate(design.trains):
            place = d * notes + i
            if isinstance(train, str):
                assert (found.status[place], place in at) == (train, False)
            else:
                assert found.status[place] == ""
                assert_same_train(*at[place], train, design.strokes)
                count += 1
    return found, count


def assert_same_train(group, k, train, strokes):
    """A row of a group is a train's."""
    assert group.structure == train.structure
    assert group.strokes == strokes
    assert group.names == tuple(train.parameters)
    assert group.table[:, k].tolist() == [one.value for one in train.parameters.values()]
    wanted = {(part.name, what): part.values.derived[what].value for part in train.parts
              for what in ("closing_no_wind", "wave_time", "feet") if what in part.values.derived}  # fmt: skip
    assert {key: float(values[k]) for key, values in group.figures.items()} == wanted
    assert group.derived("pallet", "closing_no_wind")[k] == train.role("pallet").figure("closing_no_wind")
    assert group.derived("key", "dip")[k] == train.dip
    waves = [value for (_, what), value in wanted.items() if what == "wave_time"]
    assert group.wave_time[k] == sum(waves) or not waves


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_studies_are_built_together(name):
    study = read_study(name, available())
    made = recipe_of(replace(study, notes=study.notes[:2]))
    plan = plan_of(study)
    found, count = assert_as_alone(made, plan.rows(0, min(plan.count, 40)))
    assert count == len(found.status)
    assert (found.alone, len(found.groups)) == (0, 1)


def test_rows_are_those_of_the_equations():
    made = recipe_of(read_study("quick", available()))
    plan = np.random.default_rng(3).random((9, 5))
    (group,) = design_rows(made, plan).groups
    names = load_kernel(group.structure).parameters
    for k, row in enumerate(plan):
        (train,) = make_design(made, row).trains
        assert isinstance(train, Train)
        assert group.parameters[k].tolist() == train.vector(names)
        assert group.derived("pallet", "S_wind")[k] == train.value("pallet", "S_wind")
        assert group.train(k).parameters == train.parameters
    some = group.some(np.array([7, 2]))
    assert (len(some), some.parameters.tolist()) == (2, group.parameters[[7, 2]].tolist())
    assert some.train(1).parameters == group.train(2).parameters
    closing = [one.derived("pallet", "closing_no_wind") for one in (some, group)]
    assert closing[0].tolist() == closing[1][[7, 2]].tolist()
    assert QUANTITIES["wave_time"].source == QUANTITIES["closing_force"].source == "train"


def measured(case):
    """Every field of a case that is a figure, and properties of materials, each with a value that it has."""
    for part in case.parts:
        for path, course in part.fields.items():
            field = field_at(part.part.fields, path)
            if course and field is not None and field.kind in ("quantity", "number"):
                yield Target(part.name, path, field), float(next(iter(course.values())).value)
    for name in MATERIALS:
        for what, one in case.library.get(name).properties.items():
            yield find_target(case, f"materials.{name}.{what}"), one.value


def scattered(draw, target, value, wide):
    """An input that moves a field in one of the ways there are."""
    if value == 0.0:
        return Input(target.path, Range(0.0, 1e-4), (target,))
    low, high = sorted((value * (1 - wide), value * (1 + wide)))
    return [
        Input(target.path, Range(low, high), (target,)),
        Input(target.path, Range(1 - wide, 1 + wide, log=True), (target,), factor=True),
        Input(target.path, Normal(value, abs(value) * wide / 3), (target,)),
        Input(target.path, Deviation(abs(value) * wide / 3), (target,), offset=True),
        Input(target.path, Deviation(wide / 3, factor=True), (target,), factor=True),
    ][draw.integers(5)]


@pytest.mark.parametrize("path", [*KINDS, "demo-wood", "demo-carbon"], ids=lambda path: getattr(path, "stem", path))
def test_fields_of_every_kind_of_action(path):
    case, draw = read_case(path), np.random.default_rng(11)
    fields = list(measured(case))
    for many, wide in ((12, 0.05), (30, 0.3)):
        inputs = [scattered(draw, *fields[k], wide) for k in draw.permutation(len(fields))[:many]]
        made = recipe(case, (case.compass[len(case.compass) // 2],), tuple(inputs), ())
        plan = draw.random((24, len(inputs)))
        plan[0] = np.nan
        found, _ = assert_as_alone(made, plan, 100)
        assert found.groups


@pytest.mark.parametrize("path", KINDS, ids=lambda path: path.stem)
def test_whatever_parts_compute_is_computed_for_many(path):
    """A part that asks `math` in place of `maths` is built one by one."""
    case = read_case(path)
    fields = [one for one, value in measured(case) if value]
    usual, thinner = Range(0.9999, 1.0), Range(0.998, 0.999)  # a pin may just fit into its roller
    inputs = tuple(
        Input(one.path, thinner if one.inner == "pin.diameter" else usual, (one,), factor=True) for one in fields
    )
    for note in (case.compass[0], case.compass[-1]):
        found = design_rows(recipe(case, (note,), inputs, ()), np.random.default_rng(8).random((12, len(inputs))))
        assert (found.status, found.alone) == ([""] * 12, 0)


def test_every_figure_of_every_part_is_that_of_each_alone():
    case = read_case("demo-wood")
    note, draw = case.compass[20], np.random.default_rng(2)
    parts, shares = case.given(note), {}
    blanks = together.Blanks()
    for _, name, given, *_ in parts:
        for path, one in given.items():
            if isinstance(one.value, float) and one.value and not one.default:
                shares[name, path] = one.value * (1.0 + 0.03 * draw.random(7))

    def changed(value):
        for kind, name, given, *rest in parts:
            own = {
                path: replace(one, value=value(shares[name, path]))
                for path, one in given.items()
                if (name, path) in shares
            }
            yield (kind, name, {**given, **own}, *rest)

    all_of_them = build_train(list(changed(lambda values: Many(values, blanks))), case.library, remarks=False)
    assert len(blanks) == 0
    for i in range(7):
        alone = build_train(list(changed(lambda values, i=i: float(values[i]))), case.library)
        assert alone.structure == all_of_them.structure
        for part, whole in zip(alone.parts, all_of_them.parts, strict=True):
            assert list(part.values.derived) == list(whole.values.derived)
            for name, one in part.values.derived.items():
                value = whole.values.derived[name].value
                assert one.value == (value.values[i] if isinstance(value, Many) else value), (part.name, name)


def of_demo_wood(*inputs, notes=(60,)):
    return recipe(read_case("demo-wood"), notes, inputs, ())


def target(path):
    return find_target(read_case("demo-wood"), path)


def test_what_cannot_be_is_told_of_each_in_its_own_figures():
    made = of_demo_wood(
        Input("front", Range(0.15, 0.35), (target("key.front"),)),
        Input("eye", Range(0.9, 1.2), (target("pallet.eye"),), factor=True),
        Input("turns", Range(-0.5, 1.5), (target("pallet.sealing_margin"),), factor=True),
    )
    found, count = assert_as_alone(made, np.random.default_rng(1).random((60, 3)))
    assert 0 < count < 60
    told = Counter(text.split(" = ")[0] for text in found.status if text)
    assert set(told) >= {"impossible: key, field front", "impossible: pallet.sealing_margin"}
    assert len({text for text in found.status if text}) > 20
    assert found.alone < 10


def test_a_parameter_that_is_no_finite_number_is_told():
    made = of_demo_wood(Input("force", Choices((1.0, float("inf"), 2.0)), (target("pallet-spring.force"),)))
    found, count = assert_as_alone(made, np.array([[0.1], [0.5], [0.9], [0.4], [0.2], [0.8]]))
    assert count == 4
    assert "no finite" in found.status[1]


def test_words_counts_and_flags_part_the_designs_first():
    made = of_demo_wood(
        Input("wood", Choices(("sitka-spruce", "western-redcedar", "steel")), (target("roller.material"),)),
        Input("pieces", Choices((0, 2)), (target("drop.pieces"),)),
        Input("bends", Choices((True, False)), (target("key.bending"),)),
        Input("width", Choices((0.02, 0.022, 0.03)), (target("roller.width"),)),
        Input("spring", Range(0.8, 1.2), (target("pallet-spring.force"),), factor=True),
        notes=(48, 60),
    )
    plan = np.random.default_rng(4).random((90, 5))
    plan[:2] = np.nan
    found, count = assert_as_alone(made, plan)
    assert count == 180
    assert len(found.groups) == 2
    assert found.alone < 60


def test_a_field_at_which_parts_compute_otherwise():
    made = of_demo_wood(Input("splay", Range(-0.01, 0.2), (target("riser.splay"),)))
    found, count = assert_as_alone(made, np.linspace(0.0, 1.0, 101)[:, None])
    assert (count, found.alone) == (101, 0)


def test_what_notes_have_of_their_own_is_drawn_as_for_each_alone():
    case = read_case("demo-wood")
    notes = (case.compass[5], case.compass[40])
    doubts = uncertain(case, notes)
    inputs = tuple(one.input for one in doubts if one.common.size)
    made = recipe(case, notes, inputs, (), pieces_of(doubts), seed=3)
    plan = np.random.default_rng(0).random((12, len(inputs)))
    found, count = assert_as_alone(made, plan, 50)
    assert (count, found.alone) == (24, 0)
    again = design_rows(made, plan[[3, 8]], np.array([53, 58]))
    assert again.groups[0].table.tolist() == found.groups[0].table[:, [6, 7, 16, 17]].tolist()


def test_notes_that_are_alike_are_built_as_one():
    case = read_case("demo-wood")
    notes = tuple(case.compass[::9])
    made = recipe(case, notes, (Input("spring", Range(0.8, 1.2), (target("pallet-spring.force"),), factor=True),), ())
    assert [one.notes.tolist() for one in alike(made.parts)] == [list(range(len(notes)))]
    found, count = assert_as_alone(made, np.array([[0.2], [0.7]]))
    assert (count, found.alone) == (2 * len(notes), 0)
    short = [[(kind, name, {path: one for path, one in given.items() if path != "eye_angle"}, *rest)
              for kind, name, given, *rest in made.parts[0]], made.parts[1], made.parts[2]]  # fmt: skip
    assert [one.notes.tolist() for one in alike(short)] == [[0], [1, 2]]
    many = np.random.default_rng(1).random((1100, 1))
    whole = design_rows(made, many)  # enough for each note by itself
    part = design_rows(made, many[:3])
    assert whole.groups[0].table[:, : 3 * len(notes)].tolist() == part.groups[0].table.tolist()


def test_strokes_are_grouped():
    made = of_demo_wood(
        Input("down", Choices((0.03, 0.05)), (target("strokes.down"),)),
        Input("fast", Range(0.05, 0.3), (target("strokes.speeds.fast"),)),
        Input("pressure", Range(500.0, 900.0), (target("box.pressure"),)),
    )
    plan = np.random.default_rng(6).random((12, 3))
    plan[:, 1] = [0.1, 0.7] * 6  # the first is slower than the medium speed
    found, count = assert_as_alone(made, plan)
    assert count == 6
    assert len(found.groups) == 2
    assert len({group.strokes.down for group in found.groups}) == 2


def test_no_designs_and_no_inputs():
    made = recipe_of(read_study("quick", available()))
    none = design_rows(made, np.zeros((0, 5)))
    assert (none.groups, none.status, none.values.shape) == ((), [], (0, 5))
    _, count = assert_as_alone(of_demo_wood(), np.zeros((5, 0)))
    assert count == 5
