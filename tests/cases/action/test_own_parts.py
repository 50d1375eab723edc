"""Parts and laws of one's own: from the case file through check, run, statics, lanes and the cache of compiled code."""

import pickle
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
import sympy as sp
from command_line import said
from short_case import QUICK

import keyaction as ka
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains, sound_trains, train_of
from keyaction.cases.text.find import find_case
from keyaction.models.fields.fields import Field
from keyaction.models.parts import PARTS
from keyaction.models.parts.levers import Square
from keyaction.models.train.train import PartProblem, TrainProblem
from keyaction.sim.code.kernel import load_kernel
from keyaction.sim.code.lane_kernel import load_lanes
from keyaction.sim.figures.sketch import sketch
from keyaction.sim.lanes.evaluate import evaluate
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.run.checking import warnings
from keyaction.sim.run.run import run
from keyaction.sim.run.standings import standings
from keyaction.sim.statics.kinematics import kinematics
from keyaction.sim.statics.press import press
from keyaction.sim.weighing.weighoff import weigh


def own(factor: int) -> type[Square]:
    """A square with a leaf spring that rubs on its seat; the law's strength is written into its code."""

    @dataclass(frozen=True)
    class Leaf:
        k: Any

        def force(self, x: Any, rate: Any) -> Any:  # noqa: ARG002  a law without loss
            return factor * self.k * x

        def energy(self, x: Any) -> Any:
            return factor * self.k * x**2 / 2

    class SprungSquare(Square):
        kind = "sprung-square"
        title = "square with a leaf spring"
        fields = (
            *Square.fields,
            Field("leaf", "stiffness of the leaf spring", unit="N/m", low=0.0, high=1e4, default=40.0, source="test"),
            Field("rub", "friction of the leaf", unit="N", low=0.0, high=1.0, default=0.05, source="test"),
        )
        rubs = (*Square.rubs, "rub")

        @classmethod
        def resolve(cls, values):
            super().resolve(values)
            values.set("k_leaf", values.number("leaf"), "N/m", "leaf spring", values.origin("leaf"))
            values.set("rub", values.number("rub"), "N", "friction of the leaf", values.origin("rub"))
            values.set("reach", 2e-5, "m", "give of the leaf", "assumed")

        @classmethod
        def mounted(cls, builder, port):
            if port.name.endswith(".in"):
                law = Leaf(builder.param("k_leaf", "N/m", "leaf spring"))
                builder.element("leaf", "leaf", [(port, 1)], law, "leaf spring")
                rub = builder.param("rub", "N", "friction of the leaf")
                builder.dry_friction("u_leaf", port, rub, builder.param("reach", "m", "give of the leaf"), "the leaf")
            return port

    return SprungSquare


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    """The wooden demo with its upper square replaced by one of our own kind."""
    source = find_case("demo-wood")
    folder = tmp_path_factory.mktemp("own")
    text = source.read_text(encoding="utf-8")
    assert text.count('part = "square"\nname = "upper-square"') == 1
    changed = text.replace('part = "square"\nname = "upper-square"', 'part = "sprung-square"\nname = "upper-square"')
    (folder / "own.toml").write_text(changed, encoding="utf-8")
    (folder / "quick.toml").write_text(changed + QUICK, encoding="utf-8")
    (folder / "demo-chest.csv").write_bytes((source.parent / "demo-chest.csv").read_bytes())
    return folder / "own.toml"


def read(path, factor):
    part = own(factor)
    return read_case(path, parts={**PARTS, part.kind: part})


def test_without_it_the_kind_is_unknown(path):
    with pytest.raises(Exception, match=r"unknown part; did you mean 'square'\?|unknown part"):
        read_case(path)


def test_check_and_drawing(path):
    case = read(path, 1)
    trains = check_trains(case, [60])
    shipped = read_case("demo-wood")
    stand = [standings(check_trains(one, [60]), one.strokes) for one in (case, shipped)]
    assert warnings(case, stand[0]) == warnings(shipped, stand[1])
    assert "[ upper-square ]" in sketch(trains[60])
    assert [one.value for one in case.assumptions if one.field == "leaf"] != []


def test_the_drawing_of_a_part_that_leaves_out_what_its_model_tells():
    # `check` ended in a KeyError where an own part did not set what the words of its drawing name.
    class Bare(Square):
        @classmethod
        def brief(cls, values, shown):
            return f"{shown('nothing of the kind')}, {super().brief(values, shown)}"

    case = read_case("demo-wood", parts={**PARTS, "square": Bare})
    assert "[ upper-square ] -, " in sketch(train_of(case, 60))


def test_played_by_scipy_and_in_lanes_and_by_statics(path):
    case = read(path.with_name("quick.toml"), 1)
    train = train_of(case, 60)
    plain = train_of(read_case("demo-wood"), 60)
    result = run(case, [60])
    assert list(result["status"]) == ["ok"]
    assert abs(result["energy_audit"][0, :, -1]).max() < 1e-5
    # The leaf stands against the key: K way, and its friction, by the lever of the square.
    heavier = result.value("pluck_force", "C4") - press(NoteModel(plain)).pluck_force
    assert 0.05 < heavier < 0.4
    outcome = evaluate([train, plain], case.strokes, ["pluck_force", "speech_delay"], jobs=1, sample=2)
    assert outcome.status == ("ok", "ok") and all(check.passed for check in outcome.checks)
    assert press(NoteModel(train)).pluck_force == pytest.approx(result.value("pluck_force", "C4"), rel=0.02)


def test_its_friction_keeps_the_key_where_it_is_and_is_left_out_to_find_rest(path):
    train = train_of(read(path, 1), 60)
    rest = NoteModel(train).rest()
    plain = NoteModel(train_of(read_case("demo-wood"), 60)).rest()
    assert (
        np.max(np.abs(rest[:6] - plain[:6])) < 2e-3
    )  # the leaf is free at rest: its friction has not held it elsewhere
    stretch = NoteModel(train).kernel().element("upper-square", "leaf")
    assert stretch.kind == "leaf"


def test_a_law_that_changes_under_the_same_name_is_not_served_from_the_cache(path):
    """The key of generated code tells own equations apart: scalar code, lanes and geometry."""
    soft, stiff = (train_of(read(path, factor), 60) for factor in (1, 3))
    paths = [load_kernel.__wrapped__(train.structure, plain=True).path for train in (soft, stiff)]
    assert paths[0] != paths[1]
    assert load_lanes(soft.structure).source != load_lanes(stiff.structure).source
    assert kinematics(soft.structure).links == kinematics(stiff.structure).links
    y = NoteModel(soft, plain=True).rest()
    y[2] += 0.01
    d = np.zeros(load_kernel(soft.structure, plain=True).drive_size)
    rates = [
        load_kernel(t.structure, plain=True).rates(0.0, y, NoteModel(t, plain=True).parameters(), d)
        for t in (soft, stiff)
    ]
    speed = load_kernel(soft.structure, plain=True).states.index("v_upper-square")
    assert abs(rates[0][speed] - rates[1][speed]) > 1.0


def test_the_same_law_again_is(path):
    one, other = (train_of(read(path, 2), 60) for _ in range(2))
    assert one.structure != other.structure  # two classes
    paths = {load_kernel.__wrapped__(train.structure, plain=True).path for train in (one, other)}
    assert len(paths) == 1


class Heavy(Square):
    """A square with five times the inertia, in place of the program's own."""

    @classmethod
    def resolve(cls, values):
        super().resolve(values)
        values.set("J", 5 * values.derived["J"].value, "kg*m^2", "inertia about the pin", "test")


def test_a_part_in_place_of_the_program_s_own_is_used_everywhere(tmp_path):
    case = read_case("demo-wood", parts={**PARTS, "square": Heavy})
    plain = ka.evaluate("demo-wood", "C4", {"roller.width": ["24 mm"]}, ["effective_mass"], sample=0)
    heavy = ka.evaluate(case, "C4", {"roller.width": ["24 mm"]}, ["effective_mass"], sample=0)
    assert heavy["effective_mass"][0, 0] > 1.05 * plain["effective_mass"][0, 0]
    assert case.fingerprint != read_case("demo-wood").fingerprint
    kept = run(case, "C4", out=tmp_path / "heavy.h5", jobs=2)
    assert kept.value("effective_mass", "C4") == pytest.approx(
        ka.evaluate(case, "C4", [{}], ["effective_mass"], sample=0)["effective_mass"][0, 0], rel=1e-6
    )


# -- parts that fail on one note -----------------------------------------------------------------------------
class Raising(Square):
    """A square that raises an error of its own where its arm is 40 mm long."""

    @classmethod
    def resolve(cls, values):
        super().resolve(values)
        if values.number("in_arm") == 0.04:
            raise RuntimeError("boom")


class Unassembled(Square):
    """The same, but only when its equations are put together."""

    @classmethod
    def shape(cls, values):
        return (*super().shape(values), *(("short",) if values.number("in_arm") == 0.04 else ()))

    @classmethod
    def assemble(cls, builder, name, shape):
        if "short" in shape:
            raise RuntimeError("boom")
        super().assemble(builder, name, shape)


class Unset(Square):
    """A square whose equations use what it does not set where its arm is 40 mm long."""

    @classmethod
    def resolve(cls, values):
        super().resolve(values)
        if values.number("in_arm") == 0.04:
            del values.derived["J"]


@pytest.fixture
def short_arm(tmp_path):
    """The wooden demo with a shorter arm of the upper square at C4."""
    source = find_case("demo-wood")
    more = '\n[notes.C4.upper-square]\nin_arm = "40 mm"\n'
    (tmp_path / "short-arm.toml").write_text(source.read_text(encoding="utf-8") + more + QUICK, encoding="utf-8")
    (tmp_path / "demo-chest.csv").write_bytes((source.parent / "demo-chest.csv").read_bytes())
    return tmp_path / "short-arm.toml"


FAILING = [
    (Raising, "upper-square: RuntimeError: boom"),
    (Unassembled, "upper-square: RuntimeError: boom"),
    (Unset, "upper-square has no parameter J"),
]


@pytest.mark.one_in(2)
@pytest.mark.parametrize(("part", "reason"), FAILING, ids=[part.__name__ for part, _ in FAILING])
def test_a_part_that_fails_on_one_note_is_named_and_the_others_go_on(part, reason, short_arm):
    case = read_case(short_arm, parts={**PARTS, "square": part})
    result = run(case, "B3,C4")
    assert list(result["status"]) == ["ok", f"failed: {reason}"]
    assert result.value("pluck_force", "B3") > 0.5


def test_weighing_goes_on_past_a_part_that_fails(short_arm):
    part, reason = FAILING[0]
    one, other = weigh(read_case(short_arm, parts={**PARTS, "square": part}), [59, 60])
    assert (one.failed, other.failed) == ("", reason)


def test_a_part_that_raises_is_a_defect_where_sound_trains_are_needed(short_arm):
    case = read_case(short_arm, parts={**PARTS, "square": Raising})
    with pytest.raises(TrainProblem, match=r"^upper-square: RuntimeError: boom \(notes C4\)$"):
        check_trains(case, [59, 60])
    assert list(sound_trains(case, [59, 60])) == [59]


def test_the_problem_of_a_part_travels_between_processes():
    problem = pickle.loads(pickle.dumps(PartProblem("upper-square: RuntimeError: boom")))
    assert (type(problem), str(problem)) == (PartProblem, "upper-square: RuntimeError: boom")


# -- commands that look at many notes, a part of one of which raises -------------------------------------------
@pytest.fixture
def raising(monkeypatch):
    monkeypatch.setitem(PARTS, "square", Raising)


@pytest.mark.usefixtures("raising")
def test_check_shows_the_other_notes(short_arm, capsys):
    status, out, err = said(capsys, "check", short_arm, "--note", "B3")
    assert (status, err) == (0, "")
    assert "- C4 cannot be played: upper-square: RuntimeError: boom" in out
    status, out, err = said(capsys, "check", short_arm, "--note", "C4")
    assert (status, out) == (2, "") and "upper-square: RuntimeError: boom (note C4)" in err
    assert said(capsys, "check", short_arm).status == 0


@pytest.mark.long
@pytest.mark.usefixtures("raising")
def test_a_report_holds_the_other_notes(short_arm, capsys, tmp_path):
    status, _, err = said(capsys, "report", short_arm, "--notes", "B3:C4", "--out", tmp_path / "r", "--jobs", "1")
    assert (status, err.strip()) == (1, "C4: failed: upper-square: RuntimeError: boom")
    assert "C4: failed: upper-square: RuntimeError: boom" in (tmp_path / "r" / "report.html").read_text(
        encoding="utf-8"
    )
    status, out, _ = said(capsys, "show", tmp_path / "r" / "short-arm.h5")
    assert status == 0 and "C4: failed: upper-square: RuntimeError: boom" in out


@pytest.mark.long
@pytest.mark.usefixtures("raising")
def test_a_comparison_holds_the_other_notes(short_arm, capsys, tmp_path):
    values = ("--set", "roller.width=24 mm,30 mm", "--out", tmp_path / "c")
    status, _, err = said(capsys, "compare", short_arm, "--notes", "B3:C4", "--note", "C4", *values)
    assert (status, err.strip()) == (1, "C4 is left out: upper-square: RuntimeError: boom")
    status, _, err = said(capsys, "compare", short_arm, "--notes", "C4", *values)
    assert status == 2 and "upper-square: RuntimeError: boom" in err


# -- constants of SymPy ----------------------------------------------------------------------------------------
def round_square(factor: Any) -> type[Square]:
    """A square with a spring of `factor` times its stiffness."""

    @dataclass(frozen=True)
    class Round:
        k: Any

        def force(self, x: Any, rate: Any) -> Any:  # noqa: ARG002  a law without loss
            return factor * self.k * x

        def energy(self, x: Any) -> Any:
            return factor * self.k * x**2 / 2

    class RoundSquare(Square):
        @classmethod
        def resolve(cls, values):
            super().resolve(values)
            values.set("k_round", 10.0, "N/m", "round spring", "test")

        @classmethod
        def mounted(cls, builder, port):
            if port.name.endswith(".in"):
                law = Round(builder.param("k_round", "N/m", "round spring"))
                builder.element("round", "round", [(port, 1)], law, "round spring")
            return port

    return RoundSquare


def test_a_law_with_pi_and_e_runs_as_code_plain_compiled_and_in_lanes():
    # pi was printed by its name, which generated code does not know.
    trains = []
    for factor in (sp.pi * sp.E, float(sp.pi * sp.E)):
        case = read_case("demo-wood", parts={**PARTS, "square": round_square(factor)})
        trains.append(train_of(case, 60))
    for plain in (True, False):
        rates, y = [], NoteModel(trains[1], plain=plain).rest()
        y[: len(y) // 3] += 0.003
        for train in trains:
            model, kernel = NoteModel(train, plain=plain), load_kernel(train.structure, plain=plain)
            rates.append(kernel.rates(0.0, y, model.parameters(), np.zeros(kernel.drive_size)))
        assert np.max(np.abs(rates[0])) > 1.0
        np.testing.assert_allclose(rates[0], rates[1], rtol=1e-9, atol=1e-9)
    assert evaluate(trains[:1], case.strokes, ["pluck_force"], jobs=1, sample=1).status == ("ok",)
