"""Many blocks at once on a device: figures and words of each as if it were computed alone on the processor."""

import shutil
from contextlib import closing
from dataclasses import replace

import numpy as np
import pytest
from many_blocks import apart, tasks_of, varied

from keyaction.sim.figures.verdict import UNASKED
from keyaction.sim.lanes import chunk
from keyaction.sim.sweep import at_once, questions
from keyaction.sim.sweep.at_once import AtOnce, answered_here, compute_at_once
from keyaction.sim.sweep.blocks import LOST, compute, packed
from keyaction.sim.sweep.pool import _Pipe, on_a_device
from keyaction.sim.sweep.questions import Answer, answer, answered_aside
from keyaction.sim.sweep.rows import design_rows

pytestmark = pytest.mark.skipif(shutil.which("cc") is None, reason="this machine has no C compiler: no cc is found")


def test_blocks_at_once_are_those_of_the_processor_one_by_one(tmp_path):
    recipe = varied(tmp_path, "C4,E4")
    tasks = tasks_of(recipe, [5, 1, 3], judged=1)  # lone ones, and blocks that do not fill lanes
    ours = [compute(recipe, task) for task in tasks]
    theirs = compute_at_once(replace(recipe, device="cc"), tasks)
    assert {word for one in ours for word in one.words["verdict"].texts()} >= {"speaks and falls silent", "no wind"}
    assert apart(ours, theirs) < 1e-9
    for first, second in zip(ours, theirs, strict=True):
        assert [(c.compared, c.doubtful, c.step) for c in first.checks] == [
            (c.compared, c.doubtful, c.step) for c in second.checks
        ]


def test_blocks_come_out_the_same_whichever_are_played_beside_them(tmp_path):
    recipe = varied(tmp_path, "C4", device="cc")
    tasks = tasks_of(recipe, [4, 4])
    both, alone = compute_at_once(recipe, tasks), [compute_at_once(recipe, [task])[0] for task in tasks]
    assert apart(alone, both) < 1e-12


def test_designs_that_cannot_be_built_or_followed_are_told_as_on_the_processor(tmp_path):
    wild = """
[[vary]]
field = "key.arm"
low = "20 mm"
high = "399 mm"
[[vary]]
field = "pallet-spring.at"
low = "1 mm"
high = "300 mm"
"""
    recipe = varied(tmp_path, "C4", wild)
    # The work of a loop that is hardly any (a note that hangs) goes by how an event beside it is rounded, to 2e-5.
    recipe = replace(recipe, quantities=tuple(name for name in recipe.quantities if name != "loop_work"))
    tasks = tasks_of(recipe, [30])
    ours, theirs = [compute(recipe, tasks[0])], compute_at_once(replace(recipe, device="cc"), tasks)
    assert {text.partition(":")[0] for text in ours[0].status.texts()} == {"ok", "failed", "impossible"}
    assert apart(ours, theirs) < 1e-9


def test_scipy_judges_so_many_of_a_block_however_many_strokes_are_played(tmp_path):
    depths = '[[vary]]\nfield = "strokes.repetition_depth"\nlow = 1\nhigh = 1.2\n'
    recipe = varied(tmp_path, "C4,E4", depths, quantities=("pluck_force", "speech_delay"))
    tasks = tasks_of(recipe, [5, 4], judged=2)
    ours = [compute(recipe, task) for task in tasks]
    theirs = compute_at_once(replace(recipe, device="cc"), tasks)
    for found in (ours, theirs):
        assert [sum(check.compared for check in one.checks) for one in found] == [2, 0]
        assert all(check.passed for one in found for check in one.checks)


def test_what_is_in_doubt_is_decided_by_scipy_or_marked(tmp_path, monkeypatch):
    monkeypatch.setattr(chunk, "ROUNDS", 0)  # who changes with the step at all is in doubt
    monkeypatch.setattr(chunk, "ALIKE", 1e-9)
    recipe = varied(tmp_path, "C4", device="cc", quantities=("pluck_force", "opening_time"))
    tasks = tasks_of(recipe, [2])
    ours = compute(replace(recipe, device="cpu"), tasks[0])
    decided = compute_at_once(recipe, tasks)[0]
    assert sum(check.doubtful for check in ours.checks) == sum(check.doubtful for check in decided.checks) > 0
    assert apart([ours], [decided]) < 1e-9
    marked = compute_at_once(replace(recipe, doubt="mark"), tasks)[0]
    doubted = [text for text in marked.words["sensitive"].texts() if text]
    assert doubted and all(text == "in doubt, not decided: opening_time" for text in doubted)
    assert marked.values[..., 1] == pytest.approx(decided.values[..., 1], rel=1e-3, nan_ok=True)


def test_a_train_whose_question_nobody_answers_is_lost_and_no_other(tmp_path):
    recipe = varied(tmp_path, "C4", device="cc", quantities=("pluck_force",))
    played = AtOnce(recipe, tasks_of(recipe, [3], judged=1))
    question = next(played.questions())
    played.take(Answer(question, status=f"{LOST}its process died"))
    found = played.results()[0]
    assert [text.startswith(LOST) for text in found.status.texts()].count(True) == 1
    assert np.isnan(found.values[question.place]).all() and np.isfinite(found.values).any()


def test_a_train_that_stops_scipy_has_no_figures_and_the_others_go_on(tmp_path, monkeypatch):
    def stops(*_):
        raise FloatingPointError("made up")

    monkeypatch.setattr(questions, "judges", stops)
    recipe = varied(tmp_path, "C4", device="cc", quantities=("pluck_force",))
    found = compute_at_once(recipe, tasks_of(recipe, [3], judged=1))[0]
    told = [text == "failed: FloatingPointError: made up" for text in found.status.texts()]
    assert told.count(True) == 1 and found.words["verdict"].texts()[told.index(True)] == UNASKED.fate.value
    assert np.isnan(found.values[told]).all() and np.isfinite(found.values).any()


def test_where_one_design_stops_all_its_block_is_found_by_itself(tmp_path, monkeypatch):
    recipe = varied(tmp_path, "C4", device="cc", quantities=("pluck_force",))
    tasks = tasks_of(recipe, [2, 2, 2])
    sound, alone = compute_at_once(recipe, tasks), []

    def stopped(recipe, plan, numbers):
        if 1 in numbers:
            raise FloatingPointError("made up")
        return design_rows(recipe, plan, numbers)

    def by_itself(recipe, task):
        alone.append(task.block.index)
        return compute(recipe, task)

    monkeypatch.setattr(at_once, "design_rows", stopped)
    monkeypatch.setattr(at_once, "compute", by_itself)
    assert apart(sound, compute_at_once(recipe, tasks)) < 1e-9
    assert alone == [0]


def test_a_slip_of_the_program_is_told_and_not_computed_around(tmp_path, monkeypatch):
    def slip(*_):
        raise TypeError("a slip")

    monkeypatch.setattr(at_once, "design_rows", slip)
    recipe = varied(tmp_path, "C4", device="cc", quantities=("pluck_force",))
    with pytest.raises(TypeError, match="a slip"):
        compute_at_once(recipe, tasks_of(recipe, [1, 1]))


def test_one_who_answers_rehearses_while_the_first_group_is_played(tmp_path):
    recipe = varied(tmp_path, "C4", device="cc", quantities=("pluck_force",))
    groups = [tasks_of(recipe, [1, 1], judged=1)]
    with closing(_Pipe(recipe, groups).questions(True)) as questions:
        first = next(questions)
    assert first.group < 0 and len(answer(recipe, first).figures) == 1
    pipe = _Pipe(recipe, groups)
    for question in pipe.questions(True):
        pipe.take(Answer(question) if question.group < 0 else answer(recipe, question))
    (found,) = pipe.ready()
    assert apart(answered_here(recipe, AtOnce(recipe, groups[0])), found) < 1e-12
    assert sum(check.compared for one in found for check in one.checks) == 1


@pytest.mark.parametrize(("groups", "others"), [([], True), ([1, 1], False), ([1], True)])
def test_nobody_rehearses_where_nothing_is_judged_or_nobody_else_answers(tmp_path, groups, others):
    recipe = varied(tmp_path, "C4", device="cc", quantities=("pluck_force",))
    tasks = tasks_of(recipe, groups, judged=int(not others))
    with closing(_Pipe(recipe, [tasks] if tasks else []).questions(others)) as questions:
        assert all(question.group == 0 for question in questions)


def test_who_answers_beside_a_device_stands_back_once(tmp_path, monkeypatch):
    recipe, given = varied(tmp_path, "C4", device="cc"), []
    monkeypatch.setattr(questions.os, "nice", given.append)
    questions._stand_back.cache_clear()
    for _ in range(2):
        asked = questions.nothing(3, recipe.strokes)
        assert answered_aside(packed(recipe), asked).question.group == 3
    questions._stand_back.cache_clear()
    assert given == [questions.BEHIND] and given[0] > 0


def test_groups_come_in_order_and_questions_are_answered_between_them(tmp_path):
    recipe = varied(tmp_path, "C4", device="cc", quantities=("pluck_force", "opening_time"))
    tasks = tasks_of(recipe, [2, 2, 1], judged=1)
    found = [one for group in on_a_device(recipe, [tasks[:2], tasks[2:]], 1) for one in group]
    assert sorted(one.block.index for one in found) == [0, 1, 2]
    alone = answered_here(recipe, AtOnce(recipe, tasks))
    assert apart(alone, sorted(found, key=lambda one: one.block.index)) < 1e-12
