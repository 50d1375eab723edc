"""Over the compass: the result's figures, gaps where notes failed, and steps that a finger can tell."""

import numpy as np
import pytest
from figure_checks import changed, failed, legend, line, pick, words
from matplotlib.figure import Figure

from keyaction.models.units.quantity import convert
from keyaction.plots import compass
from keyaction.plots.compass.keyboard import along, named, widen
from keyaction.plots.compass.over_compass import band
from keyaction.sim.figures.evenness import JUST_NOTICEABLE, neighbour_steps
from keyaction.sim.files.labelled import Result, Variable

PANELS = [
    (0, "pluck_force"),
    (1, "pluck_point"),
    (1, "lost_motion"),
    (2, "repetition_rate"),
    (3, "opening_time"),
    (3, "speech_delay"),
    (4, "release_delay"),
]


def _rows(figure):
    return sorted((axes for axes in figure.axes if axes.get_ylabel()), key=lambda axes: -axes.get_position().y0)


@pytest.mark.parametrize("units", ["trade", "si"])
def test_figures_are_those_of_the_result(played, units):
    rows = _rows(compass(played, units))
    for panel, name in PANELS:
        variable = played.variables[name]
        shown = line(rows[panel], variable.label)
        np.testing.assert_array_equal(shown[:, 0], played["semitone"])
        np.testing.assert_allclose(shown[:, 1], convert(variable.data, variable.unit, units)[0], err_msg=name)


@pytest.mark.parametrize(
    ("units", "expected"),
    [
        ("trade", ["pluck force (gf)", "key travel (mm)", "repetition (Hz)", "speech (ms)", "release (ms)"]),
        ("si", ["pluck force (N)", "key travel (m)", "repetition (Hz)", "speech (s)", "release (s)"]),
    ],
)
def test_every_axis_has_its_unit(played, units, expected):
    assert [axes.get_ylabel() for axes in _rows(compass(played, units))] == expected


def test_a_failed_note_is_a_gap_with_a_mark(one_failed):
    for axes in _rows(compass(one_failed)):
        first = axes.get_lines()[0].get_xydata()
        assert np.isfinite(first[0, 1])
        assert np.isnan(first[1, 1])
        np.testing.assert_array_equal(line(axes, "could not be played")[:, 0], [61])
        assert "could not be played" in legend(axes)


def test_a_note_without_a_figure_is_told_from_a_failed_one(silent):
    for axes in _rows(compass(silent)):
        np.testing.assert_array_equal(line(axes, "does not speak")[:, 0], [60])
        assert "could not be played" not in legend(axes)


def test_a_sound_note_without_a_figure_is_told_from_one_that_does_not_speak(played):
    lacking = changed(played, repetition_rate=np.array([np.nan, 8.0]))
    told = [legend(axes) for axes in _rows(compass(lacking))]
    assert [("no rate" in names) for names in told] == [False, False, True, False, False]
    assert not any("does not" in name for names in told for name in names)


FATES = {
    "hangs: held by the friction of roller": ("hangs", ("repetition_rate", "release_delay")),
    "does not speak: 0.3 mm short": ("does not speak", tuple(name for _, name in PANELS)),
    "sounds unplayed (a cipher): 0.5 mm open": ("sounds unplayed (a cipher)", ("speech_delay", "opening_time")),
    "speaks weakly: 70 %": ("speaks weakly", ("repetition_rate",)),
    "no wind": ("no wind", ("repetition_rate", "opening_time", "speech_delay", "release_delay")),
}


@pytest.mark.parametrize("verdict", FATES)
def test_a_gap_is_marked_with_the_notes_own_verdict(played, verdict):
    """Whatever figure is lacking: a note that hangs is not said to be silent, a cipher not to be mute."""
    name, lacking = FATES[verdict]
    arrays = {one: np.array([played[one][0], np.nan]) for one in lacking}
    verdicts = np.array(["speaks and falls silent", verdict], dtype=object)
    for i, axes in enumerate(_rows(compass(changed(played, verdict=verdicts, **arrays)))):
        first = next(one for panel, one in PANELS if panel == i)
        told = {fate for fate, _ in FATES.values()} & set(legend(axes))
        assert told == ({name} if i == 0 or first in lacking else set())
        if told:
            np.testing.assert_array_equal(line(axes, name)[:, 0], [61])
        assert not {"no pluck", "no rate", "no time", "could not be played"} & set(legend(axes))


def test_marks_of_verdicts_differ(played):
    marks = []
    for verdict in FATES:
        axes = _rows(compass(changed(played, verdict=np.array([verdict] * 2, dtype=object))))[0]
        marks.append(next(one.get_marker() for one in axes.get_lines() if one.get_label() == FATES[verdict][0]))
    assert len(set(marks)) == len(FATES)


def test_a_note_that_failed_but_has_a_verdict_is_marked_with_it(one_failed):
    hangs = np.array(["speaks and falls silent", "hangs: the spring does not carry the pallet"], dtype=object)
    for axes in _rows(compass(changed(one_failed, verdict=hangs))):
        np.testing.assert_array_equal(line(axes, "hangs")[:, 0], [61])
        assert "could not be played" not in legend(axes)


def test_even_neighbours_are_not_marked(played):
    assert abs(played["evenness"][1]) < JUST_NOTICEABLE
    figure = compass(played)
    assert "a step that can be felt" not in legend(_rows(figure)[0])
    assert "0 of 1 steps between neighbours exceed 7 %, the least that a finger tells apart" in words(figure)


@pytest.mark.parametrize(("factor", "felt"), [(0.91, True), (0.95, False), (1.05, False), (1.1, True)])
def test_a_note_outside_its_neighbours_band_is_marked(played, factor, felt):
    forces = played["pluck_force"].copy()
    forces[1] = factor * forces[0]
    axes = _rows(compass(changed(played, pluck_force=forces)))[0]
    assert ("a step that can be felt" in legend(axes)) is felt
    if felt:
        ring = line(axes, "a step that can be felt")
        np.testing.assert_allclose(ring, [[61, convert(float(forces[1]), "N")[0]]])
    bar = axes.patches[0]
    inside = bar.get_y() <= convert(float(forces[1]), "N")[0] <= bar.get_y() + bar.get_height()
    assert inside is not felt


def test_the_band_ends_where_the_step_is_just_noticeable():
    below = np.array([1.3])
    for edge in band(below):
        step = neighbour_steps(np.array([60, 61]), np.concatenate([below, edge]))[1]
        assert abs(step) == pytest.approx(JUST_NOTICEABLE)


@pytest.mark.parametrize("units", ["trade", "si"])
def test_one_note_has_axes_of_a_sensible_span(played, units):
    least = [(0.1, "N"), (0.2e-3, "m"), (1.0, "Hz"), (1e-3, "s"), (1e-3, "s")]
    for axes, (span, unit) in zip(_rows(compass(pick(played, [1]), units)), least, strict=True):
        assert np.ptp(axes.get_ylim()) >= 0.999 * convert(span, unit, units)[0]
        assert axes.get_ylim()[0] >= 0


def test_a_wide_axis_stays_as_it_is_and_a_narrow_one_opens_about_its_middle():
    axes = Figure().add_subplot()
    for before, after in (((1.0, 9.0), (1.0, 9.0)), ((4.99, 5.01), (4.9, 5.1)), ((0.0, 0.02), (0.0, 0.2))):
        axes.set_ylim(*before)
        widen(axes, "m", "trade")
        assert axes.get_ylim() == pytest.approx(after)


@pytest.mark.parametrize(("notes", "lines"), [([60, 61], True), ([60, 63], False)])
def test_the_key_shows_a_line_only_where_one_is_drawn(played, notes, lines):
    for axes in _rows(compass(changed(played, semitone=np.array(notes)))):
        key = dict(zip(legend(axes), axes.get_legend().legend_handles, strict=True))
        for one in axes.get_lines():
            if one.get_label() in key and one.get_marker() in ("o", "^") and one.get_markersize() < 5:
                assert (one.get_linestyle() != "None") is lines
                assert (key[one.get_label()].get_linestyle() != "None") is lines


def test_semitones_without_a_note_are_gaps(played):
    spaced = changed(played, semitone=np.array([60, 63]))
    x, y = along(spaced, np.array([1.0, 2.0]))
    np.testing.assert_array_equal(x, [60, 61, 62, 63])
    np.testing.assert_array_equal(y, [1.0, np.nan, np.nan, 2.0])


def test_every_c_and_both_ends_are_named():
    assert named(range(36, 92)) == [36, 48, 60, 72, 84, 91]
    assert named(range(34, 92)) == [36, 48, 60, 72, 84, 91]
    assert named([60, 61]) == [60, 61]
    assert {"C4", "C#4"} <= set(words(compass(_two_notes())))


def _two_notes():
    names = {name for _, name in PANELS}
    variables = {name: Variable(("note",), np.array([1.0, 1.01]), "", name) for name in names}
    variables |= {
        "note": Variable(("note",), np.array(["C4", "C#4"], dtype=object)),
        "semitone": Variable(("note",), np.array([60, 61])),
        "status": Variable(("note",), np.array(["ok", "ok"], dtype=object)),
    }
    return Result(variables)


def test_failed_notes_have_no_band(played):
    assert not _rows(compass(failed(played, [0])))[0].patches
