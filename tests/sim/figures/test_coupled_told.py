"""What a coupled result tells: its pallets by name, keys alone beside coupled, schedule, sentences, heavy touch."""

import numpy as np
import pytest
from coupled_runs import LONG, RENAMED, THIRD, WINDLESS, coupled_run
from figure_checks import changed, failed

from keyaction.models.parts.key import Key
from keyaction.models.parts.pedal_key import PedalKey
from keyaction.sim.figures.coupled_sheets import keys_sheet, pallets_sheet, schedule_sheet, weight_sheet
from keyaction.sim.figures.coupled_words import coupled_lines, verdict_lines
from keyaction.sim.figures.heavy import heavy_lines, heavy_told, helps, key_of, limit_of
from keyaction.sim.figures.pallets import (
    alone,
    couplers,
    drawn,
    first_to_open,
    has_pallets,
    held,
    is_coupled,
    moved_by,
    pallets,
    pallets_of,
)
from keyaction.sim.run.run import run

GF = 9.80665e-3


@pytest.fixture(scope="module")
def three(tmp_path_factory):
    """Three pallets at C4, two at G4."""
    return coupled_run(tmp_path_factory.mktemp("three"))["great"]


@pytest.fixture(scope="module")
def nothing(tmp_path_factory):
    """A coupler that reaches no key at G4."""
    return coupled_run(tmp_path_factory.mktemp("nothing"), "great/G4", "II/I 6")["great"]


def test_pallets_are_called_by_division_and_pitch(three):
    assert [(one.name, one.division, one.label) for one in pallets(three)] == [
        ("pallet", "great", "great"),
        ("ii-pallet", "II", "II"),
        ("ii-up-4-pallet", "II", "II, 4 semitones up"),
    ]
    assert [one.label for one in pallets_of(three, 1)] == ["great", "II"]
    assert (drawn(three), held(three)) == (["II/I", "II/I 6"], [])


def test_a_long_division_is_shortened_and_kept_apart(tmp_path):
    long = coupled_run(tmp_path, "great/C4", changes=RENAMED)["great"]
    assert [one.label for one in pallets(long)] == ["great", "the-division...", "the-division..., 4 semitones up"]
    assert [one.division for one in pallets(long)] == ["great", LONG, LONG]


def test_two_pallets_of_one_name_are_told_apart_by_their_parts(three):
    alike = np.array([["great/C4"] * 3, ["great/G4"] * 3], dtype=object)
    assert [one.label for one in pallets(changed(three, pallet_note=alike))] == [
        "great pallet",
        "great ii-pallet",
        "great ii-up-4-pallet",
    ]


def test_the_keys_alone_are_those_of_an_uncoupled_run(three, tmp_path):
    from small_couplers import SWELL, write_coupled

    from keyaction.cases.instrument.reader import read_instrument

    own = run(read_instrument(write_coupled(tmp_path, SWELL, THIRD)), "great/C4,great/G4")["great"]
    for name in ("pluck_force", "follow_through_force", "friction_at_key", "loop_work", "effective_mass"):
        np.testing.assert_allclose(alone(three, name), own[name], rtol=1e-9, err_msg=name)
    for end in ("down", "up"):
        for what in ("travel", "force"):
            np.testing.assert_allclose(three[f"alone_{end}_{what}"], own[f"feel_{end}_{what}"], rtol=1e-6)
    assert not has_pallets(own)
    assert not is_coupled(own)
    assert [name for name in own if name.startswith(("alone_", "link_from", "link_to"))] == []


def test_which_opens_first(three):
    assert [one.label for one in first_to_open(three, 0)] == ["great"]
    together = changed(three, pallets_pluck_point=np.array([[2e-3, 2e-3, 3e-3], [2e-3, 2.004e-3, np.nan]]))
    assert [one.label for one in first_to_open(together, 0)] == ["great", "II"]
    assert [row[1] for row in keys_sheet(together, "trade").rows] == ["great, II", "together"]


def test_couplers_and_their_plays(three):
    assert (couplers(three, 0), couplers(three, 1)) == (["II/I", "II/I 6"], ["II/I"])
    own, second, third = pallets(three)
    assert moved_by(three, 0, own)[0] == ""
    assert moved_by(three, 0, second) == ("II/I", pytest.approx(0.4e-3))
    assert moved_by(three, 0, third) == ("II/I 6", pytest.approx(1e-3))


def test_the_keys(three):
    sheet = keys_sheet(three, "trade")
    headings = [column.title for column in sheet.columns]
    for row, note in enumerate(three.notes):
        told = dict(zip(headings, sheet.rows[row], strict=True))
        assert (told["note"], told["opens first"]) == (note, "great")
        assert told["pluck force alone (gf)"] == pytest.approx(alone(three, "pluck_force")[row] / GF)
        assert told["pluck force (gf)"] == pytest.approx(three["pluck_force"][row] / GF)
        assert told["plucks apart (mm)"] == pytest.approx(1e3 * three["plucks_apart"][row])
        assert told["return force (gf)"] == pytest.approx(three["return_force"][row] / GF)


def test_the_pallets_stand_in_the_order_in_which_they_open(three):
    rows = pallets_sheet(three, "trade").rows
    assert [(row[0], row[1]) for row in rows] == [
        ("C4", "great"),
        ("", "II"),
        ("", "II, 4 semitones up"),
        ("G4", "great"),
        ("", "II"),
    ]
    assert [row[2] for row in rows[:3]] == sorted(row[2] for row in rows[:3])
    turned = changed(three, pallets_pluck_point=three["pallets_pluck_point"][:, ::-1].copy())
    assert [row[1] for row in pallets_sheet(turned, "trade").rows[:3]] == ["II, 4 semitones up", "II", "great"]


def test_the_schedule_names_coupler_and_play(three):
    rows = schedule_sheet(three, "trade").rows
    assert [row[:4] for row in rows[:3]] == [
        ["C4", "1", "great", "-"],
        ["C4", "2", "II", "II/I"],
        ["C4", "3", "II, 4 semitones up", "II/I 6"],
    ]
    assert [row[4] for row in rows[1:3]] == pytest.approx([0.4, 1.0])


def test_how_heavy(three):
    made = changed(three, pluck_force=np.array([3.0, 2.0]), added_pluck=np.array([1.0, 0.5]))
    assert list(alone(made, "pluck_force")) == [2.0, 1.5]
    pluck, follow = weight_sheet({"great": made}, "si").rows
    assert pluck[:5] == ["great", "pluck", "G4 1.5 > 2", "1.75 > 2.5", "C4 2 > 3"]
    assert pluck[5] == pytest.approx(100 * (2.5 / 1.75 - 1))
    assert follow[1] == "follow-through"


def test_uncoupled_results_are_not_weighed(three):
    plain = changed(three)
    bare = type(plain)({name: v for name, v in plain.variables.items() if "pallet" not in v.dims}, plain.about)
    assert weight_sheet({"great": bare}, "trade").rows == []
    assert heavy_lines(bare, "trade") == []
    assert heavy_told(bare, "trade")[0].startswith(
        "Heavy: 2 of 2 notes (C4, G4) pluck with up to 254 gf, more than 150"
    )
    assert coupled_lines(bare) == []


def test_what_couples_where(three, nothing):
    assert coupled_lines(three) == [
        "C4: coupled by II/I, II/I 6",
        "G4: coupled by II/I",
        "II/I 6 couples nothing at G4",
    ]
    assert coupled_lines(nothing) == ["G4: nothing is coupled, played alone"]
    np.testing.assert_allclose(alone(nothing, "pluck_force"), nothing["pluck_force"], rtol=1e-9)
    assert [row[1] for row in keys_sheet(nothing, "trade").rows] == ["own"]


def test_a_failed_note_is_not_called_uncoupled(three):
    broken = failed(three, [1])
    broken = changed(
        broken,
        pallet_verdict=np.array([list(three["pallet_verdict"][0]), [""] * 3], dtype=object),
        pallet_coupler=np.array([list(three["pallet_coupler"][0]), [""] * 3], dtype=object),
    )
    assert coupled_lines(broken) == ["C4: coupled by II/I, II/I 6"]
    assert [row[1] for row in keys_sheet(broken, "trade").rows] == ["great", "failed"]


def test_faults_of_driven_pallets_are_told_and_held_ones_are_not(three, tmp_path):
    assert verdict_lines(three) == []
    windless = coupled_run(tmp_path, "great/C4", "II/I", WINDLESS)["great"]
    assert verdict_lines(windless) == ["II at C4: no wind"]
    hand = coupled_run(tmp_path, "great/C4", "II/I", held="II")["great"]
    assert verdict_lines(hand) == []
    assert held(hand) == ["II"]
    mute = three["pallet_verdict"].copy()
    mute[:, 1] = "does not speak: pressed 9.5 mm down, the key leaves the pallet 0.3 mm short"
    assert verdict_lines(changed(three, pallet_verdict=mute)) == [
        "II at C4, G4: does not speak (pressed 9.5 mm down, the key leaves the pallet 0.3 mm short)"
    ]


# -- heavy touch -----------------------------------------------------------------------------------------
def test_limits_of_the_trade():
    assert [round(one / GF) for one in Key.usual_coupled] == [200, 400]
    assert PedalKey.usual_coupled is None


@pytest.mark.parametrize(
    ("forces", "begun"),
    [
        ((140, 100), []),
        ((215, 180), []),
        ((399, 200), []),
        (
            (401, 200),
            ["Heavy: C4 plucks with 401 gf, more than 400 gf, the most that coupled keyboards usually take (common"],
        ),
        ((410, 450), ["Heavy: 2 of 2 notes (C4, G4) pluck with up to 450 gf, more than 400 gf"]),
    ],
)
def test_heavy_by_common_practice(three, forces, begun):
    lines = heavy_lines(changed(three, pluck_force=GF * np.array(forces, dtype=float)), "trade")
    assert len(lines) == (len(begun) + 1 if begun else 0)
    assert all(line.startswith(start) for line, start in zip(lines, begun, strict=False)), lines
    if begun:
        assert lines[-1] == helps(True)
        assert "no source is known" in " ".join(lines)
        assert "no word on health" in lines[-1]


def test_a_key_that_couples_nothing_is_judged_as_one_keyboard(nothing):
    lines = heavy_lines(changed(nothing, pluck_force=GF * np.array([160.0])), "trade")
    assert lines[0].startswith("Heavy: G4 plucks with 160 gf, more than 150 gf, the limit of comfort of one keyboard")
    assert lines[-1] == helps(False)


def test_one_pluck_cannot_be_set_apart(three):
    points = three["pallets_pluck_point"].copy()
    points[:, 1:] = np.nan  # as pallets that another hand holds open
    made = changed(three, pluck_force=GF * np.array([450.0, 450.0]), pallets_pluck_point=points)
    assert "set apart" not in heavy_lines(made, "trade")[-1]
    assert "set apart" in helps(True)


def test_one_limit():
    assert (limit_of(Key, True).force, limit_of(Key, False).force) == (Key.usual_coupled[1], Key.comfortable)
    assert limit_of(PedalKey, False) is None
    assert limit_of(PedalKey, True).force == PedalKey.usual_pluck[1]


def test_of_feet_no_coupled_figure_is_known(three):
    text = three.about["case_text"].replace('part = "key"', 'part = "pedal-key"')
    assert text != three.about["case_text"]
    feet = type(three)(three.variables, {**three.about, "case_text": text})
    assert key_of(feet) is PedalKey
    assert heavy_lines(feet, "trade") == []
    heavy = heavy_lines(changed(feet, pluck_force=np.array([21.0, 5.0])), "si")
    assert heavy[0].startswith(
        "Heavy: C4 plucks with 21 N, more than 20 N, the most that is usual of an uncoupled pedal"
    )


def test_a_text_that_is_no_case_is_taken_for_a_manual(three):
    assert key_of(type(three)(three.variables, {**three.about, "case_text": "[["})) is Key
