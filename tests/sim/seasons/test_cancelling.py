"""Members chosen to cancel: closed forms, tried one and two at a time."""

import numpy as np
import pytest

from keyaction.models.frame.strain import strain
from keyaction.models.materials.library import default_library
from keyaction.sim.seasons.cancelling import RODS, Group, Piece, search

LIBRARY = default_library()
WARM = np.full(4, 291.15)
WET = np.array([0.10, 0.07, 0.12, 0.10])


def of(name, grain, wet):
    """Strain at 18 degC throughout: moisture alone."""
    return strain(LIBRARY.get(name), grain, WARM, wet, (291.15, 0.10))


def rods(material, length=2.0, candidates=()):
    """A rod between key and what the post carries: as it grows the run gets slacker."""
    return Group(RODS, (Piece("riser", np.array([-length, -length / 2]), WET, material),), candidates)


def post(material, length=2.0, candidates=()):
    """A post that carries the far end: as it grows the run gets tighter."""
    return Group("post", (Piece("post", np.array([length, length / 2]), WET, material),), candidates)


def alike(name):
    """Woods whose length changes with moisture as that of this one."""
    figure = LIBRARY.get(name)["shrinkage_longitudinal"].value
    found = [n for n in LIBRARY.names("wood") if "shrinkage_longitudinal" in LIBRARY.get(n)]
    return {n for n in found if LIBRARY.get(n)["shrinkage_longitudinal"].value == figure}


def test_post_and_rod_of_one_wood_cancel():
    found = search([rods("white-oak"), post("white-oak")], of)
    assert found.as_is.worst == pytest.approx(0.0, abs=1e-15)


def test_the_search_finds_the_wood_that_cancels():
    candidates = ("steel", "european-oak", "white-oak", "european-maple")
    found = search([rods("sitka-spruce", candidates=()), post("steel", candidates=candidates)], of)
    assert {found.single.changes[0][1], *found.single.alike} == set(candidates) & alike("sitka-spruce")
    assert found.single.changes[0][0] == "post"
    assert found.single.worst == pytest.approx(0.0, abs=1e-15)
    assert found.best is found.single


def test_carbon_beside_wooden_posts_is_worse_than_wood():
    """Only differences count: the post's whole growth, 2 m of 0.15 % over 0.05 of 0.30, is left."""
    wood = search([rods("white-oak"), post("white-oak")], of).as_is
    carbon = search([rods("carbon-rod"), post("white-oak")], of).as_is
    assert carbon.worst == pytest.approx(2.0 * 0.0015 * 0.05 / 0.30)
    assert carbon.worst > wood.worst
    assert carbon.note == 0  # the longer run


def test_across_the_grain_a_long_thing_along_it_cancels_only_in_pairs():
    """A rail across the grain outdoes every rod along it: both have to change."""
    rail = Piece("rail", np.array([0.3]), WET, "white-oak", "tangential")
    rod = Piece("rod", np.array([-2.0]), WET, "white-oak", "along")
    still = ("steel", "carbon-rod")
    found = search([Group(RODS, (rod,), still), Group("rail", (rail,), ("steel", "sitka-spruce"))], of)
    assert dict(found.pair.changes)["rail"] == "steel"
    assert found.pair.worst == pytest.approx(0.0, abs=1e-15)
    assert found.single.worst > 1e-4 and found.best is found.pair
    assert found.tried == 1 + (1 + 2) + 1 * 2  # at one warmth steel and carbon do the same: nothing
