"""Blank sheets: what is expected, and the orders of work."""

import numpy as np
import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import sound_trains
from keyaction.models.readings.figures import NAMES
from keyaction.sim.measuring.blank import ORDERS, blank_head, expected, form_sheet, steps, stops_drawn, trial_notes


@pytest.fixture(scope="module")
def case():
    return read_case("demo-wood")


def test_orders_hold_every_note_once():
    notes = list(range(36, 92))
    for order in ORDERS.values():
        assert sorted(order(notes)) == notes
    assert ORDERS["trial"](notes)[:4] == [36, 60, 91, 37]
    assert ORDERS["naturals"](notes)[:3] == [36, 38, 40]
    assert trial_notes([62]) == [62]
    assert trial_notes(range(60, 73)) == [60, 66, 72]  # from middle C on the middle one stands for it


def test_what_is_expected_stands_in_the_form(case):
    trains = sound_trains(case, [36, 60])
    found = expected(case, trains)
    assert found["level"] == pytest.approx([0.0, 0.0], abs=1e-9)  # counted from the drawing
    form = form_sheet(case, [60, 36], {36: 0, 60: 1}, found, "trade")
    assert [row[0] for row in form.rows] == ["C4", "C2", "", ""]  # and rows for second readings
    np.testing.assert_allclose(form.rows[0][2 + NAMES.index("pluck")], found["pluck"][1] / 9.80665e-3)
    assert all(cell == "" for row in form.rows[2:] for cell in row)


def test_the_head_names_the_case(case):
    head = blank_head(case)
    assert case.fingerprint.startswith(head.key) and len(head.key) == 8
    assert (head.case, head.pressure) == (case.title, pytest.approx(70 * 9.80665))


def test_the_order_of_work_has_figures_of_the_case(case):
    stops = stops_drawn(sound_trains(case, [60]))
    assert stops == ["Principal 8", "Flute 8", "Octave 4"]
    text = " ".join(steps(case, case.compass, stops, "trade"))
    for words in ("C2, C4, G6", "70 mmH2O", "Principal 8, Flute 8, Octave 4", "230 mm from the pivot", "Wind off"):
        assert words in text
    assert "once more, in rows" not in " ".join(steps(case, [60], stops, "trade"))
