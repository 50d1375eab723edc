"""One range of validity everywhere: a body that turns further than the equations hold is named, with its angle."""

import re

import numpy as np
import pytest
from demo_train import demo

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.train.structure import TURN_LIMIT
from keyaction.sim.figures.play import NotPlayed, play_record, search_repetition
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.lanes.evaluate import evaluate
from keyaction.sim.motion.integrate import turned_too_far
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.strokes import standard_stroke
from keyaction.sim.statics.balance import NoEquilibrium
from keyaction.sim.statics.press import press

SHORT = {"sq1.in_arm": "9 mm", "sq1.out_arm": "9 mm"}
"""A square whose arms are much too short for the way of its rods: 6 mm at 9 mm."""
TOLD = re.compile(r"(\S+) turns by (\d\.\d\d) rad \((\d+) degrees\), beyond the 0\.5 rad to which the equations hold")
STROKES = read_case("demo-wood").strokes


def test_scipy_names_part_and_angle():
    with pytest.raises(NotPlayed) as refused:
        play_record(NoteModel(demo(**SHORT)), STROKES)
    found = TOLD.search(str(refused.value))
    assert found and found[1] == "sq1"
    assert float(found[2]) > TURN_LIMIT
    assert "the shorter, the wider it turns" in str(refused.value)


def test_what_was_reached_is_kept():
    model = NoteModel(demo(**SHORT))
    motion = model.play(standard_stroke(model, STROKES))
    assert not motion.status.ok
    assert np.max(np.abs(motion["q_sq1"])) > TURN_LIMIT
    assert len(motion.t) == len(motion.y) == len(motion.seen)


def test_lanes_name_the_same_part():
    sound, wide = demo(), demo(**SHORT)
    outcome = evaluate([sound, wide, sound], STROKES, jobs=1, sample=0)
    assert [status == "ok" for status in outcome.status] == [True, False, True]
    found = TOLD.search(outcome.status[1])
    assert found and found[1] == "sq1"
    figures = [values for name, values in outcome.quantities.items() if name in ("pluck_force", "speech_delay")]
    assert all(np.isnan(values[1]) and np.isfinite(values[0]) for values in figures)


@pytest.mark.parametrize("wanted", [["speech_delay"], ["pluck_force"], ["repetition_rate"], ["speech_after_release"]])
def test_whatever_is_asked_of_the_lanes(wanted):
    outcome = evaluate([demo(**SHORT)], STROKES, wanted, jobs=1, sample=0)
    assert outcome.status[0].startswith("failed: slow press: sq1 turns by") and np.isnan(
        outcome.quantities[wanted[0]][0]
    )


def test_statics_name_it_too():
    with pytest.raises(NoEquilibrium, match=r"sq1 turns by 0\.\d\d rad"):
        press(NoteModel(demo(**SHORT)))


def test_the_limit_itself_holds():
    train = train_of(read_case("demo-wood"), 60)
    layout = NoteModel(train).kernel()
    widest = np.zeros(len(layout.states))
    widest[1] = TURN_LIMIT
    assert turned_too_far(layout, widest) == ""
    widest[1] = np.nextafter(TURN_LIMIT, 1.0)
    assert turned_too_far(layout, widest).startswith("lower-square turns by 0.50 rad")


def test_masses_along_a_rod_move_in_metres_and_have_no_such_limit():
    layout = NoteModel(demo(**{"t2.pieces": 2})).kernel()
    widest = np.array([9.0 if body.unit == "m" else 0.0 for body in layout.bodies])
    assert np.count_nonzero(widest) == 2
    assert turned_too_far(layout, widest) == ""


def test_a_rate_at_which_a_body_turns_too_far_ends_the_search_and_not_the_design():
    """The rates below it are sound; both engines say what stopped them."""
    train = demo(**{"sq1.in_arm": "28 mm", "sq1.out_arm": "28 mm"})
    model = NoteModel(train)
    assert model.play(standard_stroke(model, STROKES)).status.ok
    theirs = search_repetition(model, STROKES)
    batch = Batch.of([train], jobs=1)
    (ours,) = batch.repetition(STROKES, batch.rest())
    assert {ours.limit, theirs.limit} == {"beyond"} and ours.rate == pytest.approx(theirs.rate, abs=0.11)
    outcome = evaluate([train], STROKES, ["repetition_rate", "speech_delay"], jobs=1, sample=0)
    assert outcome.status == ("ok",) and outcome.limits == ("a body turned further than the equations hold",)
