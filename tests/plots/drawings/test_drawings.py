"""What stands on the drawings, and where."""

import math
from collections import Counter
from dataclasses import replace

import pytest
from laid_out import Made, laid_out

from keyaction.cases.instrument.reader import read_instrument
from keyaction.models.instrument.path import Path, Turn
from keyaction.models.instrument.place import Place, places
from keyaction.models.notes import note_name
from keyaction.plots.drawings.board import board_drawing, edges
from keyaction.plots.drawings.boxes import Box, box_of, extent, overlap
from keyaction.plots.drawings.cuts import rod_cuts, roller_cuts
from keyaction.plots.drawings.dimensions import figure_of, length_of, pieces, plain_items, readable
from keyaction.plots.drawings.drawing import Arc, Circle, Dimension, Stroke, Text, layer_of
from keyaction.plots.drawings.fan import fan_drawing
from keyaction.plots.drawings.foot import Titles
from keyaction.plots.drawings.lettering import corners
from keyaction.plots.drawings.paper import FULL, PAPERS, SCALES, Scale
from keyaction.plots.drawings.plan import plan
from keyaction.plots.drawings.sheet import MARGIN, Motif, best_page
from keyaction.plots.drawings.side import side_views

FIFTH = Scale(1, 5)
TITLES = Titles("An invented organ", "", "some.toml")


def counted(drawing):
    return Counter(layer_of(item) for item in drawing.items)


def of(drawing, what):
    (found,) = [item for item in drawing.items if not isinstance(item, Dimension) and item.of == what]
    return found


def test_layers_of_the_plan():
    case = laid_out()
    found = counted(plan(case, case.layout, FIFTH))
    assert found["NATURALS"] == 33  # C2 to G6: four octaves of seven, and C to G
    assert found["SHARPS"] == 23
    assert found["PALLETS"] == found["GROOVES"] == found["SPREADING"] == found["KEYS"] == 56


def test_lines_of_the_plan_go_from_key_to_pallet():
    case = laid_out()
    drawing = plan(case, case.layout, FIFTH)
    for note, name in ((36, "C2"), (61, "C#4"), (91, "G6")):
        place, (start, end) = case.layout.places[note], of(drawing, f"key to pallet {name}").points
        assert start[0] == pytest.approx(1000 * place.key)
        assert end == pytest.approx((1000 * place.pallet, 900.0))
        pallet = extent([of(drawing, f"pallet {name}")], 1.0)
        assert (pallet.left + pallet.right) / 2 == pytest.approx(1000 * place.pallet)


def test_dimensions_of_the_plan():
    case = laid_out()
    told = {item.of: length_of(item) for item in plan(case, case.layout, FIFTH).items if isinstance(item, Dimension)}
    assert told["naturals"] == pytest.approx(33 / 7 * 165)
    assert told["front to eyes"] == pytest.approx(900)
    widths = sum(case.layout.chest.widths.values())
    assert told["grooves"] == pytest.approx(1000 * (widths + 55 * 0.009))


def test_layers_of_the_board():
    case = laid_out()
    cuts = roller_cuts(case, case.layout)
    found = counted(board_drawing(case.layout.board, cuts, FIFTH))
    assert found["ROLLERS"] == 56
    assert found["ARMS"] == found["RODS"] == found["BEARINGS"] == 112
    assert found["WARNINGS"] == 1  # 38 rows of 25 mm in a room of 600 mm


def test_a_board_too_low_is_told_and_one_that_fits_is_not():
    case = laid_out(replace(Made(), height=2.0))
    drawing = board_drawing(case.layout.board, roller_cuts(case, case.layout), FIFTH)
    assert counted(drawing)["WARNINGS"] == 0
    assert any("950 mm of the 2000 mm" in remark for remark in drawing.remarks)
    low = board_drawing(laid_out().layout.board, roller_cuts(laid_out(), laid_out().layout), FIFTH)
    assert any(remark.startswith("Too low: the rows need 950 mm, and 600 mm") for remark in low.remarks)


HALF = Scale(1, 2)


@pytest.mark.parametrize("scale", [HALF, FIFTH])
def test_every_roller_has_its_name_or_a_remark_says_that_it_has_none(scale):
    case = laid_out()
    cuts = roller_cuts(case, case.layout)
    drawing = board_drawing(case.layout.board, cuts, scale)
    names = [item for item in drawing.items if isinstance(item, Text) and item.of.endswith(" its roller")]
    told = " ".join(remark for remark in drawing.remarks if remark.startswith("Rollers without their name"))
    lost = [note_name(cut.note) for cut in cuts if note_name(cut.note) not in {text.words for text in names}]
    assert len(names) + len(lost) == len(cuts)
    assert all(name in told for name in lost) or f"{len(lost)} of them" in told
    assert bool(told) == bool(lost)


def test_a_name_beside_its_roller_meets_nothing_and_stands_nearest_to_it():
    case = read_instrument("demo-instrument").divisions["high"]
    board, cuts = case.layout.board, roller_cuts(case, case.layout)
    drawing = board_drawing(board, cuts, HALF)
    beside = [item for item in drawing.items if isinstance(item, Text) and item.of == "note beside its roller"]
    assert {text.words for text in beside} == {"A#3", "D#6"}
    assert not any(remark.startswith("Rollers without") for remark in drawing.remarks)
    others = [item for item in drawing.items if isinstance(item, Stroke) and item.of != "board"]
    shafts = {item.of: box_of(item, 0.5) for item in others if item.layer == "ROLLERS"}
    for text in beside:
        assert not any(overlap(corners(text, 0.5), item.points) for item in others if item.closed)
        assert not any(overlap(corners(text, 0.5), item.points) for item in others if item.layer == "RODS")
        box = box_of(text, 0.5)
        away = {of: max(one.left - box.right, box.left - one.right, 0) + max(one.foot - box.top, box.foot - one.top, 0)
                for of, one in shafts.items()}  # fmt: skip
        assert min(away, key=away.__getitem__) == f"shaft {text.words}"


def test_rods_meet_no_other_rollers_arm_on_the_drawing():
    case = laid_out()
    drawing = board_drawing(case.layout.board, roller_cuts(case, case.layout), FIFTH)
    arms = [item for item in drawing.items if layer_of(item) == "ARMS"]
    rods = [item for item in drawing.items if layer_of(item) == "RODS"]
    for rod in rods:
        met = [arm for arm in arms if overlap(rod.points, arm.points)]
        assert len(met) == 1  # its own


def test_the_left_edge_is_that_of_the_drawing():
    board = laid_out().layout.board
    drawing = board_drawing(board, roller_cuts(laid_out(), laid_out().layout), FIFTH)
    box = extent([of(drawing, "board")], 1.0)
    assert (box.left, box.right) == pytest.approx([1000 * edge for edge in edges(board)])
    assert box.height == pytest.approx(1000 * board.height)


def test_a_side_view_has_every_axis_arm_rod_and_angle():
    case = laid_out()
    rods = [rod for rod in rod_cuts(case, case.layout) if rod.note == 60]
    drawing = side_views(case, case.layout, 60, FIFTH, rods, roller_cuts(case, case.layout))[0]
    words = Counter(item.words for item in plain_items(drawing) if isinstance(item, Text))
    path = case.layout.paths[60]
    for part in [*(turn.part for turn in path.turns), *(leg.part for leg in path.legs)]:
        assert words[part] == 2  # at the part and in the table
    axes = [item for item in drawing.items if isinstance(item, Circle)]
    assert len(axes) == len(path.turns)
    told = {item.of: length_of(item) for item in drawing.items if isinstance(item, Dimension)}
    for leg in path.legs:
        assert told[f"seen {leg.part} C4"] == pytest.approx(1000 * leg.length)
    assert len([item for item in drawing.items if isinstance(item, Arc)]) == 2  # of the two squares
    assert words["83.2°"] == words["96.8°"] == 2


def test_angles_of_a_side_view_by_hand():
    # The lower square's rods: the riser hangs plumb, the level tracker falls by 6.79 degrees, arms square to both.
    case = laid_out()
    rods = {rod.part: rod for rod in rod_cuts(case, case.layout) if rod.note == 60}
    assert math.degrees(rods["riser"].slope) == pytest.approx(-90)
    # Axes 420 mm and 50 mm apart, arms of 50 mm on opposite sides of the run or the same: a tangent of two circles.
    assert rods["level-tracker"].between == pytest.approx(math.hypot(0.42, 0.05))
    assert rods["level-tracker"].slope == pytest.approx(-math.atan2(0.05, 0.42))
    assert rods["riser"].splay == 0.0


def test_splay_of_a_fan_by_hand():
    case = laid_out(Made(splayed="drop"))
    for rod in rod_cuts(case, case.layout):
        if rod.part == "drop":
            across = abs(case.layout.places[rod.note].sideways)
            assert rod.splay == pytest.approx(math.asin(across / rod.between))
    drawing = fan_drawing(case.layout, FIFTH)
    assert drawing is not None
    assert counted(drawing)["RODS"] == 56


def test_a_fan_of_level_backfalls_is_seen_from_above():
    """Backfalls on a straight bridge, by hand: 400 mm long in their plane, their ends 100 mm and 50 mm aside."""
    found = {60: Place(60, 0.0, 0.1), 62: Place(62, 0.1, 0.15)}
    paths = {}
    for note, place in found.items():
        middle = ((place.key + place.pallet) / 2, 0.5, 0.2)
        turn = Turn("backfall", "backfall", middle, middle, (place.key, 0.3, 0.2), (place.pallet, 0.7, 0.2))
        paths[note] = Path(note, (turn,), ())
    layout = replace(laid_out(Made(splayed="drop")).layout, splayed="backfall", places=found, paths=paths)
    drawing = fan_drawing(layout, FIFTH)
    assert drawing is not None
    assert drawing.what == "Fan: backfall, from above, player below"
    start, end = of(drawing, "backfall C4").points
    assert (start, end) == (pytest.approx((0.0, 300.0)), pytest.approx((100.0, 700.0)))
    assert of(drawing, "axis backfall D4").centre == pytest.approx((125.0, 500.0))


def test_a_chest_for_two_divisions_shows_the_others_grooves():
    layout = laid_out(Made(notes=(48, 52, 57), bar=0.04, order="chromatic", division="upper")).layout
    chest = layout.chest
    shared = replace(
        chest,
        order=tuple(groove for _, note in chest.order for groove in (("upper", note), ("lower", note))),
        widths=chest.widths | {("lower", note): 0.012 for _, note in chest.order},
    )
    both = replace(layout, chest=shared, places=places(layout.keyboard, shared, "upper"), paths={})
    drawing = plan(laid_out(), both, FIFTH)
    names = Counter(item.of.split()[0] for item in drawing.items if layer_of(item) == "GROOVES")
    assert names == {"groove": 3, "other": 3}
    assert counted(drawing)["PALLETS"] == 3


def test_no_fan_is_drawn_of_a_board():
    assert fan_drawing(laid_out().layout, FIFTH) is None


def test_rollers_of_a_level_board_are_seen_from_above():
    case = laid_out(Made(stands="level", notes=(48, 52, 57), bar=0.04, order="chromatic"))
    drawing = board_drawing(case.layout.board, roller_cuts(case, case.layout), FULL)
    assert drawing.what == "Roller board from above, player below"


def test_bearings_that_neighbours_share_are_one_place():
    case = laid_out(Made(apart=-0.010))
    cuts = roller_cuts(case, case.layout)
    drawing = board_drawing(case.layout.board, cuts, FIFTH)
    assert counted(drawing)["BEARINGS"] == 112
    for cut in cuts:
        assert cut.shaft == pytest.approx(cut.bearings[1] - cut.bearings[0] - 0.010 - 0.001)


@pytest.mark.parametrize("pedals", [False, True])
def test_pedals_are_drawn(pedals):
    notes = tuple(range(36, 66))
    case = laid_out(Made(notes=notes, pedals=pedals, order="chromatic", bar=0.02))
    drawing = plan(case, case.layout, FIFTH)
    assert counted(drawing)["NATURALS"] == 18
    assert counted(drawing)["SHARPS"] == 12


def test_the_largest_scale_that_fits_is_taken():
    case = laid_out()
    motif = Motif(lambda scale: [plan(case, case.layout, scale)], (1200.0, 900.0))
    for paper in PAPERS:
        drawing, page = best_page(motif, TITLES, paper)
        box = extent(plain_items(drawing), drawing.scale.factor)
        sides = sorted((box.width, box.height))
        assert all(side * drawing.scale.factor <= room for side, room in zip(sides, sorted(PAPERS[paper]), strict=True))
        larger = SCALES[SCALES.index(drawing.scale) - 1]
        bigger, whole = best_page(motif, TITLES, paper, larger)
        assert whole.tiled or drawing.scale == FULL
        assert (page.paper.name, bigger.scale) == (paper, larger)


def test_everything_is_within_the_frame():
    case = laid_out()
    for motif in (
        Motif(lambda scale: [plan(case, case.layout, scale)], (0.0, 0.0)),
        Motif(lambda scale: [board_drawing(case.layout.board, roller_cuts(case, case.layout), scale)], (0.0, 0.0)),
    ):
        _, page = best_page(motif, TITLES)
        box = extent(page.items, 1.0)
        frame = Box(MARGIN, MARGIN, page.paper.width - MARGIN, page.paper.height - MARGIN)
        assert box == frame


@pytest.mark.parametrize(
    ("start", "end", "direction", "told"),
    [
        ((0, 0), (30, 40), "along", "50"),
        ((0, 0), (30, 40), "across", "30"),
        ((0, 40), (30, 0), "up", "40"),
        ((0, 0), (0, 12.34), "along", "12.3"),
    ],
)
def test_dimensions_tell_what_they_measure(start, end, direction, told):
    one = Dimension(start, end, 8.0, direction)
    assert figure_of(one) == told
    lines = [item for item in pieces([one], 1.0) if isinstance(item, Stroke)]
    # The dimension line itself is as long as its figure.
    assert math.dist(*lines[0].points) == pytest.approx(length_of(one))


@pytest.mark.parametrize("degrees", range(-360, 361, 15))
def test_lettering_is_never_upside_down(degrees):
    turned = readable(math.radians(degrees))
    assert -math.pi / 2 < turned <= math.pi / 2 + 1e-6
    assert math.remainder(turned - math.radians(degrees), math.pi) == pytest.approx(0, abs=1e-9)


def test_boxes_overlap_or_not():
    unit = ((0, 0), (1, 0), (1, 1), (0, 1))
    assert overlap(unit, ((0.5, 0.5), (2, 0.5), (2, 2), (0.5, 2)))
    assert not overlap(unit, ((1, 0), (2, 0), (2, 1), (1, 1)))  # a rim in common
    assert not overlap(unit, ((1.45, 0.75), (2.15, 1.45), (1.45, 2.15), (0.75, 1.45)))  # only their boxes meet
    assert overlap(unit, ((-1, 0.5), (2, 0.5)))  # a line through it
    assert not overlap(unit, ((-1, 1.5), (2, 1.5)))
