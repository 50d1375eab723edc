"""Which load a floating rail works with, by hand."""

import dataclasses

import numpy as np
import pytest
from springs_on_a_rail import rail, springs

from keyaction.sim.floating.centre import centred
from keyaction.sim.floating.loads import at_key, load_window, margins, play_under
from keyaction.sim.floating.played import shift_when_played

WAY = 0.65
N = 20
STILL = np.zeros((N, 1))


def many(**others):
    return springs(rail(friction=others.pop("friction", 0.0), **others), [1000.0] * N, way=WAY, opens=2e-3)


def alike(held, value):
    return dict.fromkeys(held.notes, value)


def test_alike_rods_need_what_the_chord_pulls_and_the_friction():
    held = many(friction=0.7)
    window = load_window(held, alike(held, 1.5), alike(held, 1e3), STILL, chord=range(60, 65))
    assert window.chord_pull == pytest.approx(7.5)
    assert window.smallest.load == pytest.approx(7.5 + 0.7, rel=1e-4)
    assert window.smallest.note not in range(60, 65)


def test_a_stiff_rod_among_soft_ones_needs_more():
    k, load_pull, d = [4000.0] + [1000.0] * 9, 6.0, 0.1e-3
    held = springs(rail(), k, way=1.0)
    window = load_window(held, alike(held, 2.0), alike(held, 1e3), np.zeros((10, 1)), chord=(67, 68, 69), allowed=d)
    # play of the stiff one d at z = W/n/4000 + d; six soft ones still pull W/n - 1000 z each: W = 6 + their sum
    n = 10
    by_hand = (load_pull - 6 * 1000.0 * d) / (1 - 6 / n * (1 - 1000.0 / 4000.0))
    assert window.smallest.load == pytest.approx(by_hand, rel=1e-4)
    assert window.smallest.note == 60


def test_at_the_smallest_load_the_play_is_as_allowed_and_no_less_load_does():
    held = springs(rail(), np.linspace(600.0, 4000.0, 12), way=WAY)
    pulls = {note: 1.0 + 0.1 * i for i, note in enumerate(held.notes)}
    smallest = load_window(held, pulls, alike(held, 1e3), np.zeros((12, 1)), chord=(62, 65, 68)).smallest
    played = {note: pulls[note] for note in (62, 65, 68)}
    assert (
        play_under(held, smallest.load * 1.001, played)[1] < 0.2e-3 < play_under(held, smallest.load * 0.999, played)[1]
    )


def test_by_default_ten_fingers_take_the_notes_that_pull_most():
    held = many()
    pulls = {note: 1.0 + 0.01 * i for i, note in enumerate(held.notes)}
    assert load_window(held, pulls, alike(held, 1e3), STILL).chord == tuple(range(70, 80))


def test_a_chord_of_all_notes_needs_all_their_pull():
    held = many()
    window = load_window(held, alike(held, 1.5), alike(held, 1e3), STILL, chord=held.notes)
    assert window.smallest.load == pytest.approx(1.5 * N, rel=1e-4)


def test_the_touch_bears_what_a_finger_cannot_tell():
    held = springs(rail(), [1000.0] * 4, gains=[1.0, 2.0, 1.0, 1.0], way=WAY)
    assert at_key(held, 8.0) == pytest.approx([2 * WAY, WAY, 2 * WAY, 2 * WAY])
    window = load_window(held, alike(held, 0.1), {60: 2.0, 61: 0.9, 62: 1.5, 63: 3.0}, np.zeros((4, 1)), chord=(60,))
    assert window.touch.note == 62
    assert window.touch.load == pytest.approx(0.07 * 1.5 / WAY * 4, rel=1e-9)


def test_no_pallet_may_leave_its_seat_over_the_year():
    """One note drawn 0.6 mm tighter than all others: with n alike rods the rail takes a share of 1/n of it."""
    held = many()
    tighter = np.zeros((N, 3))
    tighter[4, 1] = 0.6e-3
    window = load_window(held, alike(held, 0.1), alike(held, 1e3), tighter)
    # share W/n stretches by W/(n k); what is left of the note's own: 0.6 mm (1 - 1/n), as long as all stay taut
    by_hand = N * 1000.0 * (2e-3 - 0.6e-3 * (1 - 1 / N))
    assert window.margin.load == pytest.approx(by_hand, rel=1e-4)
    assert (window.margin.note, window.first_day) == (64, 1)
    assert np.min(margins(held, window.margin.load * 0.999, tighter)) > 0.0


def test_more_load_never_leaves_more_margin():
    rng = np.random.default_rng(3)
    held = springs(rail(friction=0.4), rng.uniform(500.0, 3000.0, 8), opens=2e-3)
    tighter = rng.uniform(-1e-3, 1e-3, (8, 30))
    least = [float(np.min(margins(held, load, tighter))) for load in np.linspace(0.5, 15.0, 25)]
    assert np.all(np.diff(least) <= 1e-9)


def test_which_bound_gives_first_and_when_no_load_does_both():
    held = many()
    off = springs(held.rail, [1000.0] * N, way=WAY, opens=0.5e-3)  # N/m x m: 0.5 N at the rail open each without wind
    pulls, soft = alike(held, 1.5), alike(held, 2.0)
    window = load_window(held, pulls, soft, STILL, chord=(60, 61), off=off)
    assert window.largest == window.windless and window.works
    assert window.largest.load == pytest.approx(0.5 * N, rel=1e-4)
    assert window.touch.load == pytest.approx(0.07 * 2.0 / WAY * N, rel=1e-9)  # told, and bounds nothing
    ten = load_window(held, pulls, soft, STILL, chord=range(60, 70), off=off)
    assert ten.smallest.load == pytest.approx(15.0, rel=1e-4) and not ten.works
    hard = load_window(held, pulls, soft, STILL, chord=range(60, 70))
    assert hard.largest == hard.margin and hard.works


def test_without_wind_too_the_year_draws_one_note_tighter_than_the_others():
    held = many()
    off = springs(held.rail, [1000.0] * N, way=WAY, opens=1e-3)
    tighter = np.zeros((N, 2))
    tighter[6, 1] = 0.4e-3
    window = load_window(held, alike(held, 0.1), alike(held, 2.0), tighter, off=off)
    # its share stretches it by W/(n k); of its own 0.4 mm the rail takes one part in n
    assert window.windless.load == pytest.approx(N * 1000.0 * (1e-3 - 0.4e-3 * (1 - 1 / N)), rel=1e-4)
    assert window.windless.note == 66


def test_a_note_that_opens_whatever_the_load_bounds_it_at_nought():
    held = many(behind=1e-3)
    window = load_window(held, alike(held, 1.5), alike(held, 1e3), np.full((N, 1), 3.1e-3))
    assert window.margin.load == pytest.approx(0.0, abs=1e-3)
    assert not window.works


def test_the_window_is_what_the_rail_does_with_its_own_load():
    """At a load just above the smallest, the division itself set to it is not shifted by more than is allowed."""
    held = many()
    window = load_window(held, alike(held, 1.5), alike(held, 1e3), STILL, chord=range(60, 65))
    for load, bears in ((window.smallest.load * 1.01, True), (window.smallest.load * 0.99, False)):
        own = dataclasses.replace(held, rail=rail(load))
        shift = shift_when_played(own, centred(own).stretch, dict.fromkeys(range(60, 65), 1.5))
        assert (shift.worst[1] <= 0.2e-3) is bears
