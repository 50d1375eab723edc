"""Moisture of wood for a year at once: the same law as for one climate, held within its published range."""

import math

import numpy as np
import pytest

from keyaction.models.formulas.wood import (
    COLDEST,
    DAMPEST,
    DRIEST,
    HOTTEST,
    ZERO_CELSIUS,
    moisture_content,
    moisture_contents,
)


def test_many_climates_are_as_each_alone():
    warm, damp = (one.ravel() for one in np.meshgrid(ZERO_CELSIUS + np.linspace(-1.1, 60, 30), np.linspace(0.05, 0.95)))
    alone = [moisture_content(*climate) for climate in zip(warm.tolist(), damp.tolist(), strict=True)]
    assert moisture_contents(warm, damp) == pytest.approx(alone, rel=1e-13)


@pytest.mark.parametrize(
    ("celsius", "humidity", "held"),
    [
        (-20, 0.5, (COLDEST, 0.5)),
        (150, 0.5, (HOTTEST, 0.5)),
        (20, 1.0, (20, DAMPEST)),
        (20, 0.0, (20, DRIEST)),
        (-5, 0.99, (COLDEST, DAMPEST)),
    ],
)
def test_frost_and_fog_are_the_edge_of_the_table(celsius, humidity, held):
    found = moisture_contents(np.array([celsius + ZERO_CELSIUS]), np.array([humidity]))
    assert found[0] == pytest.approx(moisture_content(held[0] + ZERO_CELSIUS, held[1]), rel=1e-9)


def test_what_is_not_known_stays_unknown():
    assert math.isnan(moisture_contents(np.array([math.nan]), np.array([0.5]))[0])
