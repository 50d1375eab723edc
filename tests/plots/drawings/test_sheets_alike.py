"""What sheets of one division have in common: scale and paper of side views, titles, and from where is counted."""

from dataclasses import replace

import pytest
from laid_out import Made, laid_out

from keyaction.plots.drawings.cuts import rod_cuts
from keyaction.plots.drawings.drawing import Drawing, Stroke
from keyaction.plots.drawings.foot import Titles, foot
from keyaction.plots.drawings.paper import Scale
from keyaction.plots.drawings.plan import plan
from keyaction.plots.drawings.sheet import Motif, best_page, best_pages
from keyaction.plots.drawings.side import side_views

TITLES = Titles("An invented organ", "", "some.toml")
FIFTH = Scale(1, 5)


def motif(name, high, least):
    """A line so high (mm) that is read from a scale on."""

    def build(scale):
        line = Stroke("RODS", ((0.0, 0.0), (0.0, high)))
        return [Drawing(name, name, scale, (line,), crowded=scale.factor < least)]

    return Motif(build, (0.0, high))


def told(found):
    return [(str(page.scale), page.paper.name) for _, page in found]


def test_side_views_lie_at_one_scale_on_one_paper():
    easy, hard = motif("easy", 700.0, 0.0), motif("hard", 700.0, 0.5)
    alone = told(best_page(one, TITLES) for one in (easy, hard))
    assert alone[0] != alone[1]
    assert told(best_pages([easy, hard], TITLES)) == [alone[1]] * 2


def test_crowding_that_no_paper_heals_counts_once():
    easy, never = motif("easy", 700.0, 0.5), motif("never", 700.0, 9.0)
    # The sheet on which the other can be read, not a larger one for the sake of one that never can be.
    assert told(best_pages([easy, never], TITLES))[0] == told([best_page(never, TITLES)])[0]
    assert len(set(told(best_pages([easy, never], TITLES)))) == 1


def test_what_no_paper_holds_leaves_the_others_theirs():
    small, huge = motif("small", 100.0, 0.0), motif("huge", 9000.0, 0.0)
    found = best_pages([small, huge], TITLES, "A4", Scale(1, 1))
    assert [page.tiled for _, page in found] == [False, True]


def first_line(titles):
    items = foot(400.0, "Plan", FIFTH, "A3", titles, ()).items
    return max((item for item in items if hasattr(item, "words")), key=lambda one: one.at[1]).words


def test_the_title_block_names_the_instrument_its_division_and_the_case():
    assert first_line(Titles("Two towers", "pedal", "p.toml", "An organ")) == "An organ - pedal - Two towers"
    assert first_line(Titles("Two towers", "", "p.toml")) == "Two towers"
    long = Titles(
        "Two towers of the pedal, invented for these tests", "pedal", "p.toml", "An organ with a very long name"
    )
    assert first_line(long) == "An organ with a very long name - pedal"
    items = foot(400.0, "Plan", FIFTH, "A3", long, ()).items
    assert long.title in [getattr(item, "words", "") for item in items]


def moved(back, up, division=""):
    case = laid_out(Made(division=division))
    return replace(case, layout=replace(case.layout, keyboard=replace(case.layout.keyboard, back=back, up=up)))


@pytest.mark.parametrize(("division", "zero"), [("", "the layout"), ("upper", "the instrument")])
def test_side_views_say_from_where_is_counted_and_where_the_fronts_stand(division, zero):
    case = moved(0.1, -0.0805, division)
    view = side_views(case, case.layout, 60, FIFTH, rod_cuts(case, case.layout)[:4])[0]
    assert f"counted from the zero of {zero}; fronts of these keys' naturals: back 100 mm" in view.remarks[0]
    assert "up -80.5 mm" in view.remarks[0]


def test_a_plan_says_that_its_depths_are_from_its_own_keys():
    told = " ".join(plan(moved(0.1, 0.08), moved(0.1, 0.08).layout, FIFTH).remarks)
    assert "Depths are told here from the fronts of these keys" in told and "back 100 mm" in told
    case = laid_out()
    assert "Depths" not in " ".join(plan(case, case.layout, FIFTH).remarks)
