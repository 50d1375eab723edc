"""What is said of the unknowns of a sheet, where they stay, and how the calibrated case has them."""

import tomllib
from dataclasses import replace

import numpy as np
import pytest
from planted import C4, found, of_note, planted_train

from keyaction.models.readings.readings import Head
from keyaction.sim.calibration.apart import beside_words, untold_words
from keyaction.sim.calibration.found import Value
from keyaction.sim.calibration.legend import legend, unusual_words
from keyaction.sim.calibration.measured import measured_at
from keyaction.sim.calibration.new_case import UnwrittenCase, calibrated_text, check_text, written_words
from keyaction.sim.calibration.telling import sentences
from keyaction.sim.calibration.wanted import usual
from keyaction.sim.fitting.spread import Direction
from keyaction.sim.measuring.computed import drawn_levels
from keyaction.sim.measuring.synthetic import synthetic

TRADE = "trade"


@pytest.fixture(scope="module")
def sheet():
    """A note with a weak spring, from a sheet alone, everything asked for that is usual."""
    case, there = of_note()
    train = planted_train(case, there, {"spring": 1.4})
    read = synthetic({C4: train}, drawn_levels([train], case.strokes), case.strokes, 3, Head())
    names = [one.name for one in usual(there, measured_at(C4, [read], [], [], case.naming))[0]]
    return found(case, there, names, sheets=[read])


def test_what_is_not_told_stays_near_the_case_and_is_named_with_the_reason(sheet):
    hidden = [one for one in sheet.values if one.interval is None]
    assert not sheet.poor and {one.of.name for one in hidden} > {"dip", "bottom-felt", "seal", "friction"}
    for one in hidden:
        assert abs(one.figure - one.of.start) < 0.5 * one.of.kind.span, one.of.name
    reasons = ("not show", "show only", "not told either", "no better than")
    lines = [line for line in sentences(sheet, TRADE) if any(reason in line for reason in reasons)]
    assert all(any(one.of.name in line for line in lines) for one in hidden)
    spring = next(one for one in sheet.told if one.of.name == "spring")
    assert spring.interval.low <= 1.4 <= spring.interval.high


def test_directions_that_share_two_unknowns_are_one_sentence():
    of = [of_note()[1][name] for name in ("seal", "twist", "spring", "balance")]
    rows = [[0.7, 0.7, 0, 0], [0.7, -0.5, 0.5, 0], [0, 0, 0.7, 0.7]]  # the third meets a group of two directions
    (line,) = untold_words([Direction(np.array(row), 9.0) for row in rows], of, TRADE)
    assert all(one.name in line for one in of)


def test_what_takes_a_small_part_in_a_long_direction_is_named():
    of = [of_note()[1][name] for name in ("seal", "twist", "spring")]
    lines = beside_words([Direction(np.array([0.1, 0.995, 0.0]), 40.0)], of, [0, 1])
    assert lines == ["seal is not told either: what twist may be off by looks the same."]
    assert beside_words([Direction(np.array([0.1, 0.995, 0.0]), 40.0)], of, [1]) == []


def test_the_legend_has_every_unknown_with_what_is_read_of_it(sheet):
    lines = {line.partition(":")[0]: line for line in legend([sheet], "scientific", TRADE)}
    assert set(lines) == {one.of.name for one in sheet.values}
    value = next(one for one in sheet.values if one.of.name == "play")
    assert "at its nut" in lines["play"] and "C4 " in lines["play"] and "on the sheet" in lines["play"]
    read = float(lines["play"].split(" is ")[-1].split(" mm")[0])
    assert read == pytest.approx(1e3 * value.value * 230 / 150, abs=0.1)  # the key's levers, and what felts give
    train = sheet.asked.train(sheet.found.values)
    spring, pallet = train.role("spring").name, train.role("pallet").name
    eye = train.value(spring, "M0") / train.value(pallet, "r_eye") / 9.80665e-3
    assert f"is {eye:.3g} gf at the eye" in lines["spring"]


def test_a_value_outside_the_usual_is_said_at_once(sheet):
    assert unusual_words(sheet, TRADE) == []
    k = next(k for k, one in enumerate(sheet.values) if one.of.name == "load-friction")
    values = list(sheet.values)
    values[k] = Value(values[k].of, 3.0, None)
    (line,) = unusual_words(replace(sheet, values=tuple(values)), TRADE)
    assert line.startswith("load-friction is outside the usual: pin.coefficient of ")
    assert "0.05 to 0.75 is usual" in line and line.endswith("It is not told, so that nothing follows.")


def test_a_calibrated_case_says_what_it_takes_untold_and_what_it_leaves(sheet):
    first, second, *others = (replace(one, interval=None) for one in sheet.values)
    values = (
        replace(first, figure=first.of.start),
        replace(second, figure=second.of.start + 0.2 * second.of.kind.span),
    )
    one = replace(sheet, values=(*values, *(replace(one, figure=one.of.start) for one in others)))
    taken, left = written_words([one], "scientific")
    assert taken.startswith(f"C4: {second.of.name} is written though not told")
    assert left.startswith(f"C4: {first.of.name}, ") and left.endswith("are not told and not written.")
    text = calibrated_text(sheet.asked.case, [one], "from a sheet")
    check_text(sheet.asked.case, text, [one])
    note = tomllib.loads(text)["notes"]["C4"]
    assert set(note) == {part for part, _ in second.of.fields(0.0)}


def test_the_remark_of_a_poor_fit_gives_no_interval(sheet):
    poor = replace(sheet, good=replace(sheet.good, odds=1e-9))
    assert "no finding" in written_words([poor], "scientific")[-1]
    text = calibrated_text(sheet.asked.case, [poor], "from a sheet")
    assert "of a poor fit, no finding" in text and "95 %" not in text.replace(sheet.asked.case.text, "")


def test_the_calibrated_case_has_plain_numbers_and_few_digits(sheet):
    case = sheet.asked.case
    text = calibrated_text(case, [sheet], "from a sheet")
    check_text(case, text, [sheet])
    note = tomllib.loads(text)["notes"]["C4"]
    assert isinstance(note["key"]["pin"]["coefficient"], float)
    spring, unit = note["pallet-spring"]["force"].split()
    assert unit == "N" and len(spring) <= 6
    assert float(spring) == pytest.approx(sheet.fields["pallet-spring", "force"], abs=2e-3)  # an error is 20e-3
    with pytest.raises(UnwrittenCase, match="pallet-spring force"):
        check_text(case, text.replace(f'"{spring} N"', f'"{float(spring) + 0.001:.4g} N"'), [sheet])
