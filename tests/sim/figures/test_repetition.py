"""The repetition search against players whose limit is known."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keyaction.sim.figures.limits import EMPTY, FULL, LIMITS, still_passes
from keyaction.sim.figures.rates import (
    WORDS,
    all_confirmed,
    confirmed,
    search,
    searched,
    searched_early,
    searched_twice,
)
from keyaction.sim.figures.repetition import COUNT, Repetition, Trial, failing, judge, trial, verdict
from keyaction.sim.motion import drives

BOX = 700.0
RECORDED = SimpleNamespace(observables=("gap", "least", "most"), speech=("least", "most", "gap"))


def rate_of(drive):
    return 1 / (drive.mark("end 0") - drive.mark("press 0"))


def trial_of(drive, fault="", stroke=0):
    """A motion that passes in every stroke but one, which shows the fault."""
    t = np.linspace(0.0, drive.end, 400 * COUNT + 1)
    groove, gap = np.zeros_like(t), np.full_like(t, -1e-4)
    for i in range(COUNT):
        press, lift, end = (drive.mark(f"{name} {i}") for name in ("press", "lift", "end"))
        last = lift + 0.7 * (end - lift)
        blown = (t > press) & (t < last)
        top = FULL - 0.01 if fault == "not full" and i == stroke else 1.0
        low = EMPTY + 0.01 if fault == "not empty" and i == stroke else 0.0
        here = (t > press) & (t <= end)
        groove[here] = low * BOX
        groove[blown] = top * BOX
        open_until = end if fault == "not seated" and i == stroke else last
        gap[(t > press) & (t <= open_until)] = 3e-3
    return Trial(t, groove, groove, gap, fault if fault in ("beyond", "failed") else "")


def player(threshold, fault, played=None):
    def play(drive):
        if played is not None:
            played.append(rate_of(drive))
        return trial_of(drive, "" if rate_of(drive) <= threshold + 1e-9 else fault)

    return play


def found_by(threshold, fault="not empty", highest=20.0, played=None):
    return search(judge(player(threshold, fault, played), 0.0105, BOX, 3e3), highest)


# -- one trial -------------------------------------------------------------------------------------------
@pytest.mark.parametrize("stroke", range(COUNT))
@pytest.mark.parametrize("fault", ["not full", "not empty", "not seated"])
def test_every_stroke_is_judged(fault, stroke):
    drive = drives.repeated(5.0, 0.0105, COUNT)
    assert verdict(trial_of(drive), drive, BOX) == ""
    assert verdict(trial_of(drive, fault, stroke), drive, BOX) == fault


@pytest.mark.parametrize("stroke", [0, 2, COUNT - 1])
@pytest.mark.parametrize("fault", ["", "not full", "not empty", "not seated"])
def test_a_trial_ends_with_the_first_stroke_that_fails(fault, stroke):
    drive = drives.repeated(4.0, 0.0105, COUNT)  # its ends are instants of the trial
    whole, enough = trial_of(drive, fault, stroke), failing(RECORDED, drive, BOX)
    ends = [drive.mark(f"end {i}") for i in range(COUNT)]
    told, start = [], 0
    for piece in drive.pieces:
        end = int(np.searchsorted(whole.t, piece.end, "right"))
        new = slice(start, end)
        seen = np.stack([whole.gap[new], whole.least[new], whole.most[new]], axis=1)
        told, start = [*told, enough(whole.t[new], seen)], end
        if told[-1]:
            break
    assert drive.pieces[len(told) - 1].end == (ends[stroke] if fault else ends[-1])
    assert told[-1] == bool(fault) and not any(told[:-1])


@pytest.mark.parametrize("fault", ["failed", "beyond"])
def test_a_motion_that_failed_passes_no_judge(fault):
    drive = drives.repeated(5.0, 0.0105, COUNT)
    assert verdict(trial_of(drive, fault), drive, BOX) == fault


def test_empty_and_seated_must_come_together():
    drive = drives.repeated(5.0, 0.0105, COUNT)
    played = trial_of(drive)
    lift, end = drive.mark("lift 2"), drive.mark("end 2")
    here = (played.t > lift) & (played.t <= end)
    # Seated while still blowing, then silent but open: no single instant is both.
    played.gap[here] = np.where(played.least[here] > EMPTY * BOX, -1e-4, 3e-3)
    assert verdict(played, drive, BOX) == "not seated"


@given(st.floats(0.80, 0.99), st.floats(0.01, 0.2))
def test_full_is_90_and_empty_10_per_cent(top, low):
    drive = drives.repeated(4.0, 0.0105, COUNT)
    played = trial_of(drive)
    groove = np.where(played.least > 0, top * BOX, low * BOX)
    expected = "not full" if top < FULL else "not empty" if low >= EMPTY else ""
    assert verdict(Trial(played.t, groove, groove, played.gap), drive, BOX) == expected


# -- the search ------------------------------------------------------------------------------------------
@settings(deadline=None, max_examples=30)
@given(st.integers(10, 199), st.sampled_from(["not full", "not empty", "not seated", "failed"]), st.floats(0.0, 0.99))
def test_the_threshold_is_found_to_a_tenth(tenths, fault, beyond):
    played = []
    found = found_by((tenths + beyond) / 10, fault, played=played)
    assert found.rate == pytest.approx(tenths / 10, abs=1e-9)
    assert found.rate == round(found.rate, 1)
    assert found.limit == fault
    assert found.reason == LIMITS[fault]
    # Every half hertz from 1 to 20, and four tenths between two of them; no rate is played twice.
    assert found.trials == len(played) == len(set(played)) <= 39 + 4


def test_the_drives_are_the_repeated_strokes_asked_for():
    seen = []

    def play(drive):
        seen.append(drive)
        return trial_of(drive)

    search(judge(play, 0.0123, BOX, 4321.0), 20.0)
    for drive in seen:
        assert drive == drives.repeated(rate_of(drive), 0.0123, COUNT, 4321.0)


def test_a_note_that_fails_even_slowly_has_rate_zero_and_says_why():
    found = found_by(0.5, "not full")
    assert (found.rate, found.limit) == (0.0, "not full")
    assert found.reason == "the groove did not fill"


@pytest.mark.parametrize("highest", [20.0, 12.3, 7.05, 1.1, 1.0, 0.5, 0.1])
def test_a_note_that_never_fails_has_the_highest_rate_tried(highest):
    played = []
    found = found_by(math.inf, highest=highest, played=played)
    assert found.rate == pytest.approx(math.floor(highest * 10 + 1e-9) / 10, abs=1e-12)
    assert found.rate == round(found.rate, 1)
    assert found.limit == ""
    assert found.reason == "not up to the highest rate tried"
    assert still_passes(found.reason)
    assert max(played) <= highest + 1e-9
    assert found.trials == len(played)


def test_the_reason_is_that_of_the_rate_next_above():
    def play(drive):
        rate = rate_of(drive)
        return trial_of(drive, "" if rate < 8.05 else "not empty" if rate < 12.0 else "not full")

    assert search(judge(play, 0.0105, BOX, 3e3), 20.0).limit == "not empty"


def passing(*spans):
    """A judge by which rates within some spans (Hz) pass."""

    def play(drive):
        inside = any(low - 1e-9 <= rate_of(drive) <= high + 1e-9 for low, high in spans)
        return trial_of(drive, "" if inside else "not empty")

    return judge(play, 0.0105, BOX, 3e3)


def test_a_rate_counts_only_if_every_slower_one_passes():
    # As a heavy key was found to do: it fails at some rates, and passes at faster ones again.
    found = search(passing((1.0, 2.7), (4.0, 4.6), (6.0, 9.3)), 20.0)
    assert (found.rate, found.limit, found.again) == (2.7, "not empty", 9.0)
    assert found.reason == "the groove did not empty; passes again up to 9.0 Hz"
    alone = search(passing((6.0, 9.3)), 20.0)
    assert (alone.rate, alone.again) == (0.0, 9.0)
    assert search(passing((1.0, 20.0)), 20.0).again == 0.0


# -- a real note -----------------------------------------------------------------------------------------
def test_a_real_note_passes_at_its_rate_and_fails_above(record):
    found, dip = record.repetition, record.model.train.parts[0].values.derived["dip"].value
    for tenths, expected in ((0, ""), (1, found.limit)):
        drive = drives.repeated(
            found.rate + tenths / 10, record.strokes.repetition_depth * dip, COUNT, record.strokes.finger
        )
        assert verdict(trial(record.model.play(drive)), drive, record.box_pressure) == expected
    assert found.limit in LIMITS and found.limit


def test_what_is_not_played_of_a_real_trial_that_fails_changes_nothing(record):
    found, model = record.repetition, record.model
    depth, box = record.strokes.repetition_depth * model.train.dip, record.box_pressure
    drive = drives.repeated(found.rate + 0.1, depth, COUNT, record.strokes.finger)
    short = model.play(drive, enough=failing(model.kernel(), drive, box))
    assert short.t[-1] in [drive.mark(f"end {i}") for i in range(COUNT - 1)]
    assert verdict(trial(short), drive, box) == found.limit


# -- many notes ------------------------------------------------------------------------------------------
def drawn_codes(count, seed):
    """Outcomes of designs by tenths and design: mostly passing below a rate and failing above, some at random."""
    draw = np.random.default_rng(seed)
    edge = draw.integers(5, 210, count)
    told = np.where(np.arange(211)[:, None] <= edge, 0, draw.integers(1, 4, (211, count)))
    noise = draw.random((211, count)) < np.where(draw.random(count) < 0.5, 0.1, 0.0)
    return np.where(noise, draw.integers(0, 4, (211, count)), told)


def one_by_one(grid, told):
    """The search of one note as its definition says it: half hertz, then tenths up to the first failing one."""
    fails = [tenths for tenths in grid if told[tenths]]
    if not fails:
        return grid[-1], 0, 0, len(grid)
    first = grid.index(fails[0])
    rate, limit, trials = (grid[first - 1] if first else 0), told[fails[0]], len(grid)
    again = max((tenths for tenths in grid[first:] if not told[tenths]), default=0)
    between = range(rate + 1, fails[0]) if first else ()
    for tenths in between:
        trials += 1
        if rate == tenths - 1:
            rate, limit = (rate, told[tenths]) if told[tenths] else (tenths, limit)
    return rate, limit, again, trials


@pytest.mark.parametrize("highest", [20.0, 12.3, 1.0])
def test_many_searched_side_by_side_are_each_as_one_alone(highest):
    told = drawn_codes(60, 1)
    found = searched(60, highest, lambda tenths, which: told[tenths, which])
    top = round(highest * 10)
    grid = [*range(10, top, 5), top]
    for i, one in enumerate(found):
        rate, limit, again, trials = one_by_one(grid, told[:, i])
        assert one == Repetition(rate / 10, WORDS[limit], trials, again / 10), i
        assert found.reasons()[i] == one.reason and found.rate[i] == one.rate


def test_many_confirmed_side_by_side_are_each_as_one_alone():
    told, other = drawn_codes(60, 2), drawn_codes(60, 2)
    moved = np.random.default_rng(3).integers(-14, 15, 60)
    for i, by in enumerate(moved):
        other[:, i] = np.roll(other[:, i], by)
    found = searched(60, 20.0, lambda tenths, which: told[tenths, which])
    together = all_confirmed(found, lambda tenths, which: other[tenths, which], 20.0)
    for i, one in enumerate(together):
        alone = confirmed(found[i], lambda tenths, _, i=i: [WORDS[k] for k in other[tenths, i]], 20.0)
        assert one == alone and together.rate[i] == alone.rate


def test_what_is_found_in_a_quicker_way_is_what_is_found_exactly():
    """Quick verdicts that are wrong where they say so, and near the boundary where they do not."""
    told = drawn_codes(80, 5)
    told[:, :40] = np.where(np.arange(211)[:, None] <= np.arange(20, 180, 4), 0, 2)
    quick, draw = told.copy(), np.random.default_rng(6)
    unsure = draw.random(told.shape) < 0.1
    quick[unsure] = draw.integers(0, 4, np.sum(unsure))
    for i in range(40):  # boundaries that lie elsewhere, and are said to be sure
        quick[:, i] = np.roll(quick[:, i], draw.integers(-13, 14))
    asked = []

    def exact(tenths, which):
        asked.extend(tenths)
        return told[tenths, which]

    meant = searched(80, 20.0, lambda tenths, which: told[tenths, which])
    found = searched_twice(80, 20.0, exact, lambda tenths, which: (quick[tenths, which], ~unsure[tenths, which]))
    for name in ("tenths", "limits", "trials"):
        assert np.array_equal(getattr(found, name), getattr(meant, name)), name
    assert len(asked) < np.sum(meant.trials) / 3


@pytest.mark.parametrize("highest", [20.0, 12.3, 1.0])
def test_trials_that_end_early_find_what_trials_find_that_go_on_while_they_pass(highest):
    """Rates that are wrongly said to pass lie near the boundary, or are the fastest that pass again."""
    told, draw, asked = drawn_codes(80, 7), np.random.default_rng(8), []
    told[:, :60] = np.where(np.arange(211)[:, None] <= np.arange(20, 200, 3), 0, draw.integers(1, 4, (211, 60)))
    told[180:, 5:15], told[60:70, 20:30] = 0, 0
    alike = (told == 0) & (draw.random(told.shape) < 0.8)
    for i in range(60):
        first = np.flatnonzero(told[:, i])[0]
        alike[first : first + 12, i] = True
    alike[190:, 5:15], told[195:, 5:15] = True, 1

    def quick(tenths, which):
        here = alike[tenths, which]
        return np.where(here, 0, told[tenths, which]), ~here

    def exact(tenths, which):
        asked.append(len(tenths))
        return told[tenths, which]

    meant = searched(80, highest, lambda tenths, which: told[tenths, which])
    found = searched_early(80, highest, exact, quick)
    for name in ("tenths", "limits", "again", "trials"):
        assert np.array_equal(getattr(found, name), getattr(meant, name)), name
    assert highest < 10 or sum(asked) < np.sum(meant.trials) / 2
    assert highest < 20 or np.any(meant.again)
