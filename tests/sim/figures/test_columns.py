"""The rows of the registry: complete, in agreement with functions and lanes, and what they say of differences."""

import inspect
import math

import numpy as np
import pytest

from keyaction.cases.action.trains import train_of
from keyaction.sim.compare.trackers import OF_TRACKERS
from keyaction.sim.figures import quantities
from keyaction.sim.figures.columns import OVER_COMPASS, QUANTITIES, forces_felt
from keyaction.sim.figures.evenness import neighbour_steps
from keyaction.sim.figures.registry import Quantity, Resolution, Spot, Table, in_table
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.motion.note import NoteModel

ROWS = [*QUANTITIES.values(), *OVER_COMPASS.values(), *OF_TRACKERS.values()]
NO_FIGURES = {"loop", "mass_budget"}
"""Functions of the module that give more than one number."""
TABLES = {
    "notes": "pluck_point pluck_force follow_through_force evenness key_dip steady_lift opening_time speech_delay "
    "release_delay repetition_rate",
    "figures": "lost_motion pluck_point pluck_force evenness follow_through_force friction_at_key key_dip steady_lift "
    "opening_time speech_delay release_delay repetition_rate effective_mass",
    "glance": "closing_force",
    "regulation": "lost_motion pluck_point pluck_force follow_through_force key_dip",
    "compared": "pluck_force follow_through_force pluck_point rods_stretch lost_motion friction_at_key effective_mass "
    "rods_mass steady_lift groove_share opening_time speech_delay wave_time release_delay repetition_rate pallet_speed "
    "stored_energy train_frequency season_key",
    "brief": "pluck_force pluck_point speech_delay repetition_rate effective_mass rods_stretch",
    "pictures": "pluck_force repetition_rate opening_time release_delay pluck_point peak_force",
    "front": "pluck_force repetition_rate",
}
"""What stands in each table, in its order: readers know where to look."""


def test_every_function_has_its_row():
    functions = {
        name
        for name, one in vars(quantities).items()
        if inspect.isfunction(one) and one.__module__ == quantities.__name__ and not name.startswith("_")
    }
    assert functions - NO_FIGURES == set(QUANTITIES)


@pytest.mark.parametrize("name", Table.__args__)
def test_tables_have_their_order(name):
    assert [one.name for one in in_table(name, ROWS)] == TABLES[name].split()
    assert all(one.heading or name in ("compared", "glance", "pictures", "front") for one in in_table(name, ROWS))


def test_no_two_quantities_have_one_place():
    for name in TABLES:
        places = [spot.place for row in ROWS for spot in row.tables if spot.table == name]
        assert len(set(places)) == len(places), name


def test_what_is_entered_without_a_place_comes_last_in_its_own_words():
    def newer(record):
        """New."""

    row = Quantity(newer, "m", "newer", "new", 3, tables=(Spot("notes"), Spot("brief", 15, "mine", 1)))
    last = in_table("notes", [row, *ROWS])[-1]
    assert (last.name, last.heading, last.places) == ("newer", "new", 3)
    second = in_table("brief", [*ROWS, row])[1]
    assert (second.name, second.heading, second.places) == ("newer", "mine", 1)


def test_forces_that_a_finger_meets():
    assert forces_felt() == ("pluck_force", "follow_through_force")
    assert all(QUANTITIES[name].unit == "N" for name in forces_felt())


def test_the_lanes_watch_what_the_rows_say(wood):
    train = train_of(wood, 60)
    batch = Batch(train.structure, np.array([NoteModel(train).parameters()]))
    watched = {name for name, one in QUANTITIES.items() if one.watched}
    assert set(batch.stroke(wood.strokes, batch.rest(), np.full(1, 6e-3)).quantities) == watched
    assert all(QUANTITIES[name].source == "stroke" for name in watched)


def test_evenness_is_the_step_of_the_pluck_force():
    notes, forces = np.array([60, 61, 63]), np.array([1.0, 1.1, 1.2])
    found = OVER_COMPASS["evenness"].compute(notes, {"pluck_force": forces})
    np.testing.assert_array_equal(found, neighbour_steps(notes, forces))


# -- differences -----------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("name", "ours", "theirs", "known"),
    [
        ("pluck_force", 1.01, 1.0, 0.01),
        ("pluck_force", 0.99, 1.0, 0.01),
        ("stored_energy", -0.98, -1.0, 0.02),
        ("pluck_force", math.nan, math.nan, 0.0),
        ("pluck_force", 1.0, math.nan, math.nan),
        # A key that springs back by itself leaves no force to hold: nothing is a share of it (was 9583135 %).
        ("follow_through_force", 1e-5, 0.0, 1e-3),
        ("loop_work", 1e-9, 0.0, 1e-4),
        ("release_delay", 0.0, -2.5e-5, 5e-3),
        # One step of the search is none; two are a share of the rate.
        ("repetition_rate", 9.9, 10.0, 0.0),
        ("repetition_rate", 9.8, 10.0, 0.02),
        ("repetition_rate", 0.3, 0.0, 3.0),
        ("bounce", 1.0, 1.0, 0.0),
        ("bounce", 2.0, 1.0, math.inf),
        ("bounce", math.nan, 1.0, math.inf),
        # Of lost motion a share of 10 mm of key way, whatever its size.
        ("lost_motion", 0.5e-3, 0.4e-3, 0.01),
        # An empty groove is silent, whatever is left in it.
        ("speech_after_release", 0.02, 0.099, 0.0),
        ("speech_after_release", 0.3, 0.05, 0.2),
        ("speech_after_release", 0.30, 0.34, 0.0),
        ("speech_after_release", math.nan, 0.05, math.nan),
        # Of no wind anything is an infinite share: alike, and no warning of an infinity less another.
        ("speech_after_release", np.float64(math.inf), np.float64(math.inf), 0.0),
        ("bounce", math.inf, math.inf, 0.0),
    ],
)
def test_how_far_two_values_are_apart(name, ours, theirs, known):
    assert QUANTITIES[name].resolution.difference(ours, theirs) == pytest.approx(known, nan_ok=True)


@pytest.mark.parametrize("name", QUANTITIES)
def test_a_share_is_finite_or_none(name):
    share = QUANTITIES[name].resolution.share
    for first in (0.0, 1e-15, -1e-15, math.nan):
        assert np.isnan(share(first, 1.0))
    assert share(2.0, 3.0) == pytest.approx(0.5) and share(-2.0, -3.0) == pytest.approx(-0.5)


def test_a_difference_below_the_step_means_nothing():
    fine = Resolution(step=1e-3)
    assert fine.difference(1.0005, 1.0) == 0.0
    assert fine.difference(1.002, 1.0) == pytest.approx(2e-3)


_EDGES = [
    np.nan,
    np.inf,
    -np.inf,
    0.0,
    1e-13,
    1e-6,
    4.9e-3,
    5e-3,
    0.04,
    0.1,
    0.11,
    0.2,
    1.0,
    1.0000001,
    9.9,
    10.0,
    -3.0,
]


@pytest.mark.parametrize("name", sorted(QUANTITIES))
def test_differences_of_arrays_are_those_of_each_pair(name):
    resolution = QUANTITIES[name].resolution
    ours, theirs = (one.ravel() for one in np.meshgrid(_EDGES, _EDGES))
    with np.errstate(invalid="ignore"):
        alone = [resolution.difference(*pair) for pair in zip(ours, theirs, strict=True)]
    assert np.array_equal(resolution.differences(ours, theirs), alone, equal_nan=True)
