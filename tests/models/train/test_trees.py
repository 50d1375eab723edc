"""Trains that branch or take something from outside: their energy audit closes in both engines, which agree."""

import numpy as np
import pytest
from demo_train import demo
from trees import LIBRARY, in_given_wind, on_a_rail, one_pallet, part, two_branches, two_pallets

from keyaction.cases.action.reader import read_case
from keyaction.models.algebra.names import Name, part_name_defect
from keyaction.models.train.train import TrainProblem, build_train
from keyaction.sim.figures.quantities import pluck_force
from keyaction.sim.figures.record import Pressed
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.motion import drives
from keyaction.sim.motion.changes import Change
from keyaction.sim.motion.integrate import audit_of
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.statics.press import press

DEPTH = 0.0095 * 1.15
RAIL = Change(Name("sq2", "rail"), 0.4e-3, 0.20, 0.30)
WIND = Change(Name("box", "p_box"), 500.0, 0.10, 0.18)
TREES = {
    "two pallets": (two_pallets, ()),
    "two branches": (two_branches, ()),
    "a rail that moves": (on_a_rail, (RAIL,)),
    "a box whose pressure changes": (in_given_wind, (WIND,)),
}


def stroke(changes):
    made = drives.stroke(0.04, 0.15, 0.04, DEPTH)
    return drives.Drive("motion", made.pieces, made.stiffness, marks=made.marks, changes=changes)


@pytest.fixture(scope="module", params=TREES)
def played(request):
    make, changes = TREES[request.param]
    train = make()
    return train, changes, NoteModel(train).play(stroke(changes))


def test_the_audit_closes(played):
    _, _, motion = played
    assert motion.status.ok, motion.status
    assert abs(motion.audit.residual) < 1e-4 * motion.audit.throughput


def test_lanes_close_their_audit_and_agree(played):
    train, changes, motion = played
    model = NoteModel(train)
    batch = Batch(train.structure, np.array([model.parameters()]), 40e-6, jobs=1, changes=changes)
    strokes = read_case("demo-wood").strokes
    rest = batch.rest()
    assert rest.settled.all()
    drive = batch._drives(
        1, down_rate=1 / 0.04, lift=0.19, up_rate=1 / 0.04, touch=batch._touch(rest), depth=DEPTH,
        k_finger=strokes.finger,
    )  # fmt: skip
    trace = batch.trace(drive, rest, motion.drive.end, every=1)
    audit = audit_of(batch.layout, trace.y[0], trace.seen[0])
    assert abs(audit.residual) < 1e-2 * audit.throughput
    for name in ("pallet_lift", "groove_pressure", "key_force"):
        ours = np.interp(motion.t, trace.t, trace.seen[0][:, batch.layout.observables.index(name)])
        assert np.max(np.abs(ours - motion[name])) < 0.03 * np.max(np.abs(motion[name])), name


def test_both_pallets_open_and_the_second_is_named_after_its_part():
    motion = NoteModel(two_pallets()).play(stroke(()))
    first, second = motion["pallet_lift"], motion["pallet_lift-pallet-2"]
    assert np.max(first) == pytest.approx(np.max(second), rel=1e-6)
    # Slowly pressed, the key plucks against both.
    plucks = [_pluck(train) for train in (one_pallet(), two_pallets())]
    assert plucks[1] == pytest.approx(2 * plucks[0], rel=0.1)


def _pluck(train):
    strokes = read_case("demo-wood").strokes
    return pluck_force(Pressed(NoteModel(train), strokes, press(NoteModel(train), strokes.press_stiffness, 5.0)))


def test_each_run_has_the_wind_of_its_own_box():
    train = two_branches()
    motion = NoteModel(train).play(stroke(()))
    held = (motion.t > 0.15) & (motion.t < 0.19)
    shares = [
        np.mean(motion[name][held]) / train.parameters[Name(box, "p_box")].value
        for name, box in (("groove_pressure", "box"), ("groove_pressure-groove-2", "box-2"))
    ]
    assert shares[0] == pytest.approx(shares[1], rel=0.02)
    assert shares[0] > 0.8


def test_a_rail_that_moves_lifts_the_pallet_by_its_lever():
    # The whole train is taut while the key is held: the rail's way adds to the rod's, 1 : 1 through the square.
    motion = NoteModel(on_a_rail()).play(stroke(()))
    moved = NoteModel(on_a_rail()).play(stroke((Change(Name("sq2", "rail"), -0.2e-3, 0.06, 0.12),)))
    held = (motion.t > 0.16) & (motion.t < 0.19)
    roller = 60.0 / 60.0
    gained = np.mean((moved["pallet_lift"] - motion["pallet_lift"])[held])
    assert gained == pytest.approx(0.2e-3 * roller, rel=0.1)
    assert moved.audit.others > 0.0


def test_wind_cannot_fall_below_the_air_of_the_room():
    model = NoteModel(in_given_wind())
    told = r"a change of 'p_box' of box to -1 Pa: a pressure of wind below 0 Pa; allowed: 0 Pa or more"
    with pytest.raises(ValueError, match=told):
        model.play(stroke((Change(WIND.of, -1.0, 0.10, 0.18),)))
    assert model.play(stroke((Change(WIND.of, 0.0, 0.10, 0.18),))).status.ok


def test_wind_that_falls_while_the_key_is_held_falls_in_the_groove():
    motion = NoteModel(in_given_wind()).play(stroke((WIND,)))
    late = (motion.t > 0.185) & (motion.t < 0.19)
    assert np.mean(motion["groove_pressure"][late]) < 500.0
    assert np.max(motion["groove_pressure"]) > 600.0


def test_a_train_without_the_input_refuses_the_change():
    with pytest.raises(ValueError, match="does not take 'rail' of sq2 from outside"):
        NoteModel(demo()).play(stroke((RAIL,)))
    model = NoteModel(demo())  # the lanes took no notice
    with pytest.raises(ValueError, match="does not take 'rail' of sq2 from outside"):
        Batch(model.train.structure, np.array([model.parameters()]), 40e-6, jobs=1, changes=(RAIL,))


def test_an_outlet_that_is_not_there():
    parts = [
        part("key"),
        part("pd", after=("key", "tail")),
        part("pallet"),
        part("spring"),
        part("groove"),
        part("box"),
    ]
    with pytest.raises(TrainProblem, match="pd: key has no outlet 'tail'; it has out"):
        build_train(parts, LIBRARY)


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ([part("pd", after=("key", "out")), part("pallet")], "the train begins with its one key"),
        ([part("key"), part("pd", after=("nowhere", "out"))], "no part 'nowhere' before it"),
        ([part("key"), part("pallet", after=("key", "out"))], "only a tracker, sticker or pull-down leads on"),
    ],
)
def test_trees_that_cannot_be(parts, words):
    with pytest.raises(TrainProblem, match=words):
        build_train(parts, LIBRARY)


@pytest.mark.parametrize("after", [("roller",), 3, "key", ("key", "out", "in"), ("key", 1), ["key", "out"]])
def test_an_outlet_is_a_part_and_a_name(after):
    with pytest.raises(TrainProblem, match=r"^pd: it leads on from .*; \(part, outlet\) is needed, such as"):
        build_train([part("key"), part("pd", after=after)], LIBRARY)


@pytest.mark.parametrize("kind", [3, None, int])
def test_a_kind_is_a_name_or_a_class_of_part(kind):
    with pytest.raises(TrainProblem, match=r"key: its kind is .*; the name of a kind or a class of Part is needed"):
        build_train([(kind, "key", {})], LIBRARY)


def test_every_unknown_kind_is_named_with_the_nearest():
    with pytest.raises(TrainProblem) as caught:
        build_train([("kee", "key", {}), ("sqare", "sq", {})], LIBRARY)
    told = "key: unknown part 'kee'; did you mean 'key'?", "sq: unknown part 'sqare'; did you mean 'square'?"
    assert caught.value.defects == told


@pytest.mark.parametrize("called", ["a\nb", "it's", 'a"b', "(finger)", "(rider)", "", "Key", "k y", "key\n", 3, None])
def test_a_name_that_a_case_refuses_is_refused(called):
    with pytest.raises(TrainProblem) as caught:
        build_train([("key", called, {})], LIBRARY)
    assert caught.value.defects == (
        f"part 1: called {called!r}; a name of small letters, digits and hyphens is needed",
    )


def test_other_names_and_parts_that_cannot_be():
    with pytest.raises(TrainProblem, match="this name is taken by the table of the same name"):
        build_train([("key", "strokes", {})], LIBRARY)
    with pytest.raises(TrainProblem, match="2 parts are called key; names must differ"):
        build_train([part("key"), part("pd", "key")], LIBRARY)
    with pytest.raises(TrainProblem, match=r"part 2: \(kind, name, values\) is needed"):
        build_train([part("key"), ("tracker", "pd")], LIBRARY)


def test_a_chain_is_a_tree_without_branches():
    """Naming the outlet that is taken anyway changes nothing."""
    plain = demo()
    parts = [part(member.name) for member in plain.structure]
    parts[1] = part("t1", after=("key", "out"))
    told = build_train(parts, LIBRARY)
    assert told.parameters.keys() == plain.parameters.keys()
    assert told.system().rates == plain.system().rates


def test_a_name_too_long_to_show_is_refused():
    assert part_name_defect(60 * "a") == ""
    with pytest.raises(TrainProblem, match="at most 60 letters"):
        build_train([("key", 61 * "a", {})], LIBRARY)
