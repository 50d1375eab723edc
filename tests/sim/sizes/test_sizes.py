"""The smallest pallets: by hand from the text of the case, by the press, and by a case that has them."""

import math

import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.formulas.air import density
from keyaction.models.notes import NoteProblem
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.play import press_note
from keyaction.sim.figures.sketch import rigid
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.sizes.sheet import told
from keyaction.sim.sizes.sized import EYE, FEEDS, WIDTH
from keyaction.sim.sizes.sizes import ShareProblem, smallest_pallets
from keyaction.sim.wind.stops import StopProblem

PRESSURE = 70 * 9.80665
FEET, GAP = 0.6, 0.61
"""Flow coefficients that a groove has by default."""


def by_hand(length, turn, toes, width=0.014, hinge=0.012, leak=2e-6):
    """What the groove of the short case holds: gap of two triangles and the front, and of the rear; then its slot."""
    end = hinge + length
    gap = turn * (width * end + width * hinge + end**2 - hinge**2)
    slot = length * width
    inlet = GAP * gap * slot / math.sqrt(gap**2 + slot**2)
    ratio = inlet / (FEET * (toes + leak))
    return ratio**2 / (1 + ratio**2)


@pytest.fixture(scope="module")
def one(short):
    (found,) = smallest_pallets(short, "C4")
    return found


def test_the_share_as_drawn_is_that_of_two_orifices_by_hand_and_of_the_press(one):
    assert (one.toes, one.leak, one.outlet) == pytest.approx((120e-6, 2e-6, FEET * 122e-6))
    assert one.share_of(one.drawn) == pytest.approx(by_hand(0.190, one.drawn.turn, 120e-6), rel=1e-12)
    assert one.share_of(one.drawn) == pytest.approx(one.drawn.share, abs=6e-4)  # the last pascal creeps
    assert one.drawn.lift == pytest.approx(one.drawn.turn * 0.165, rel=1e-3)


def test_the_smallest_opening_just_reaches_the_share_by_hand_and_by_the_press(one):
    turn, length = one.smallest.turn, one.smallest.length
    assert one.limit == FEEDS
    assert by_hand(length, turn, 120e-6) == pytest.approx(one.share_of(one.smallest), rel=1e-12)
    assert by_hand(length, turn, 120e-6) >= 0.9 > by_hand(length - 1.5e-4, turn, 120e-6)
    assert 0.9 <= one.smallest.share < 0.9 + 1e-3
    assert one.smallest.width == one.drawn.width


def test_a_case_that_has_the_smallest_pallet_gives_its_figures(one, files):
    """Second way: the sizes as settings of the case, its face and eye by hand, pressed as any other note."""
    length, end = one.smallest.length, 0.012 + one.smallest.length + 0.003
    back = end / (0.012 + 0.190 + 0.003)
    assert end < 0.165  # the eye could not stay
    case = read_case(
        files / "short.toml",
        set_={
            "pallet.opening_length": f"{1e3 * length:.12g} mm",
            "pallet.eye": f"{165 * back:.12g} mm",
            "pallet-spring.at": f"{100 * back:.12g} mm",
            "pallet.seat.area": f"{1500 * (length + 0.006) / 0.196:.12g} mm^2",
        },
    )
    pressed = press_note(NoteModel(train_of(case, "C4")), case.strokes)
    found = {name: QUANTITIES[name].compute(pressed) for name in ("pluck_force", "groove_share", "closing_force")}
    assert found["pluck_force"] == pytest.approx(one.smallest.pluck, rel=1e-6)
    assert found["groove_share"] == pytest.approx(one.smallest.share, rel=1e-6)
    assert (one.smallest.eye, one.smallest.end) == pytest.approx((0.165 * back, end), rel=1e-12)
    friction = train_of(case, "C4").role("pallet").figure("tau0") / one.smallest.eye
    assert one.smallest.closing == pytest.approx(found["closing_force"] - friction, rel=1e-6)


def test_with_its_eye_kept_a_pallet_ends_there_and_saves_the_winds_moment(short):
    """Pluck at the eye less by p w (far^2 - far'^2) / 2 over the eye, more by the weight that opened it: by hand."""
    (one,) = smallest_pallets(short, "C4", keep_eye=True)
    assert one.limit == EYE and one.smallest is one.kept
    assert one.smallest.end == pytest.approx(0.165, rel=1e-12)
    margin, width = 0.0015, 0.014 + 2 * 0.0015
    moment = [PRESSURE * width * ((0.012 + long + margin) ** 2 - (0.012 - margin) ** 2) / 2 for long in (0.190, 0.150)]
    pine = train_of(short, "C4").role("pallet").values.of("material", "density")
    weight = [pine * 9.80665 * 0.018 * 0.020 * end**2 / 2 for end in (0.205, 0.165)]
    less = (moment[0] - moment[1] - weight[0] + weight[1]) / 0.165 * rigid(train_of(short, "C4")).last
    assert one.saved == pytest.approx(less, rel=0.01)  # and friction with it
    assert "a still shorter pallet would end before its eye or spring" in told(one)


def test_the_eye_moves_back_only_where_that_is_lighter(one, short):
    assert one.smallest.eye < one.kept.eye == pytest.approx(0.165)
    assert one.smallest.pluck < one.kept.pluck < one.drawn.pluck
    (narrow,) = smallest_pallets(read_case(short.path, set_={"groove.stops.0.area": "230 mm^2"}), "C4", share=0.9)
    assert narrow.kept is not None and narrow.smallest.pluck <= narrow.kept.pluck


@pytest.mark.parametrize("share", [0.5, 0.8, 0.95, 0.99])
def test_every_share_is_reached_by_the_press(share, short):
    (found,) = smallest_pallets(short, "C4", share=share)
    assert found.smallest.share >= share
    assert found.limit == WIDTH or found.smallest.share < share + 2e-3


def test_no_opening_is_shorter_than_wide(changed):
    (found,) = smallest_pallets(changed({"groove.stops.0.area": "4 mm^2"}), "C4", share=0.5)
    assert (found.limit, found.smallest.length) == (WIDTH, found.drawn.width)


def test_one_too_small_wants_more_length_and_tells_of_lift(changed):
    (found,) = smallest_pallets(changed({"key.dip": "4 mm", "groove.stops.0.area": "250 mm^2"}), "C4")
    assert found.too_small and found.lacks == "lift"
    assert found.smallest.length > found.drawn.length and found.smallest.eye == found.drawn.eye
    assert found.smallest.share >= 0.9
    turn = found.lift_wanted / 0.165
    assert by_hand(0.190, turn, 250e-6) == pytest.approx(0.9, abs=2e-5)
    (words,) = told(found)
    assert words.startswith("too small: ") and words.endswith("the lift limits it, not the length")


def test_an_opening_that_no_lift_helps_is_too_short(changed):
    (found,) = smallest_pallets(changed({"groove.stops.0.area": "2000 mm^2"}), "C4")
    assert found.lift_wanted == math.inf and found.lacks == "length"
    assert any("no usual lift would do" in line for line in told(found))


EDGES = {
    "nothing to feed, and no size is needed": {"groove.stops.0.drawn": False},
    "no wind: nothing to feed": {"box.pressure": "0 Pa"},
    "the pallet does not open": {
        "key.dip": "0.5 mm",
        "key.bottom_felt.thickness": "0.4 mm",
        "key.rest_felt.thickness": "0.4 mm",
    },
    "hangs": {"pallet-spring.force": "0.25 N", "pallet-spring.rate": "0 N/m"},
    "no opening up to 900 mm": {"groove.stops.0.area": "30000 mm^2"},
    "would not shut the pallet without wind": {"groove.stops.0.area": "1500 mm^2", "pallet-spring.force": "0.8 N"},
}


@pytest.mark.parametrize("words", EDGES)
def test_a_note_without_a_size_says_why(words, changed):
    (found,) = smallest_pallets(changed(EDGES[words]), "C4")
    assert found.smallest is None and math.isnan(found.saved)
    assert words in found.why


def test_a_leak_larger_than_the_toes_is_told(changed):
    (found,) = smallest_pallets(changed({"groove.leak": "160 mm^2"}), "C4")
    assert any("leaks more than its toes take" in line for line in told(found))
    assert by_hand(found.smallest.length, found.smallest.turn, 120e-6, leak=160e-6) >= 0.9


def test_notes_of_like_size_are_sized_alike_and_in_the_order_given(short):
    found = smallest_pallets(short, "D4,C4,C#4")
    assert [one.note for one in found] == [62, 60, 61]
    assert max(one.smallest.length for one in found) - min(one.smallest.length for one in found) < 2e-3


ROWS = (("Principal 8", 120, "true"), ("Octave 4", 30, "false"))


def test_more_toes_want_more_opening(files):
    text = (files / "short.toml").read_text(encoding="utf-8")
    one, other = (f'{{ name = "{name}", area = "{area} mm^2", drawn = {drawn} }}' for name, area, drawn in ROWS)
    (files / "two.toml").write_text(text.replace(one, f"{one}, {other}"), encoding="utf-8")
    case = read_case(files / "two.toml")
    as_drawn, alone, both = (smallest_pallets(case, "C4", stops)[0] for stops in (None, "principal 8", "all"))
    assert as_drawn.smallest.length == alone.smallest.length < both.smallest.length
    assert (alone.stops, both.stops) == (("Principal 8",), ("Principal 8", "Octave 4"))
    assert both.toes == pytest.approx(150e-6)


@pytest.mark.parametrize("share", [0.49, 0.995, 1.0, math.nan])
def test_a_share_out_of_range_is_refused(share, short):
    with pytest.raises(ShareProblem, match="allowed: 50 to 99 %"):
        smallest_pallets(short, "C4", share=share)


def test_stops_and_notes_that_are_not_there_are_refused(short, changed):
    with pytest.raises(StopProblem, match=r"no stop 'Principel 8'; did you mean 'Principal 8'\?"):
        smallest_pallets(short, "C4", ["Principel 8"])
    with pytest.raises(StopProblem, match="have no list of stops"):
        smallest_pallets(changed({"groove.feet_area": "120 mm^2"}), "C4", "all")
    with pytest.raises(NoteProblem, match="C4 to G4"):
        smallest_pallets(short, "C4", chord="C4,C5")


def test_a_chord_takes_nothing_from_a_box_that_holds_its_pressure(one, short):
    (found,) = smallest_pallets(short, "C4", chord="C4,E4,G4")
    assert found.others > 0.0 and not found.supply.finite
    assert found.smallest.length == one.smallest.length
    assert found.share_of(found.drawn, chord=True) == found.share_of(found.drawn)


def test_a_chord_on_a_box_with_a_trunk_by_hand(supplied, one):
    """Four like notes behind a trunk: pressures of orifices in series, the trunk 15 cm2 over the root of 2."""
    (found,) = smallest_pallets(supplied, "C4", chord="C4:D#4")
    shapes = smallest_pallets(supplied, "C#4:D#4")
    flows = [(n.drawn.passed.inlet**-2 + n.outlet**-2) ** -0.5 for n in (found, *shapes)]
    trunk = 15e-4 / math.sqrt(2)
    box = 1 / (1 + (sum(flows) / trunk) ** 2)
    assert found.others == pytest.approx(sum(flows[1:]), rel=1e-12)
    held = box * by_hand(0.190, found.drawn.turn, 120e-6)
    assert found.share_of(found.drawn, chord=True) == pytest.approx(held, rel=1e-9)
    assert found.share_of_box(found.drawn) == pytest.approx(held / box, rel=1e-9)
    assert found.share_of(found.smallest, chord=True) == pytest.approx(0.9, abs=1e-3)
    assert found.smallest.length > one.smallest.length
    flow = FEET * 122e-6 * math.sqrt(2 * held * PRESSURE / density(293.15, 101325.0, 0.5))
    assert flow == pytest.approx(flows[0] * math.sqrt(2 * box * PRESSURE / density(293.15, 101325.0, 0.5)), rel=1e-9)


def test_a_trunk_that_robs_is_not_mended_by_a_pallet(supplied):
    (found,) = smallest_pallets(supplied, "C4", chord="C4:G4", share=0.9)
    assert found.smallest is None
    assert "the supply robs, and no pallet mends it" in found.why
    assert 0.0 < found.supply.left(found.others + found.outlet) <= 0.9


def test_the_press_at_the_sagged_box_holds_the_same_share_of_it(supplied):
    """Second way to the share of the box as it then is: the train pressed at that pressure."""
    from keyaction.models.algebra.names import Name

    (found,) = smallest_pallets(supplied, "C4", chord="C4:D#4")
    left = found.share_of(found.drawn, chord=True) / found.share_of_box(found.drawn)
    train = train_of(supplied, "C4").with_parameter(Name("box", "p_box"), left * PRESSURE, "sagged")
    pressed = press_note(NoteModel(train), supplied.strokes)
    assert QUANTITIES["groove_share"].compute(pressed) == pytest.approx(found.share_of_box(found.drawn), abs=1e-3)
