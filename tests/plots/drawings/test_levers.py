"""The list of keys and levers, and what a side view says of those that stand slantwise."""

import csv
import io
import math

import pytest
from laid_out import Made, laid_out

from keyaction.cases.action.reader import read_case
from keyaction.plots.drawings.drawing import Text
from keyaction.plots.drawings.levers import lever_cuts, levers_sheet
from keyaction.plots.drawings.lists import as_csv, totals_sheet
from keyaction.plots.drawings.paper import Scale
from keyaction.plots.drawings.save import save_drawings
from keyaction.plots.drawings.side import side_views


@pytest.fixture(scope="module")
def splayed():
    return read_case("mixed-treble")


def rows(case):
    return list(csv.DictReader(io.StringIO(as_csv(levers_sheet(lever_cuts(case, case.layout), case.naming)))))


def test_splayed_backfalls_by_hand(splayed):
    # 250 mm on either side of the bridge, and half the way sideways beside each arm.
    found = [row for row in rows(splayed) if row["part"] == "backfall"]
    assert len(found) == len(splayed.compass)
    for row, place in zip(found, splayed.layout.places.values(), strict=False):
        splay = math.atan2(1000 * abs(place.sideways), 500.0)
        for arm in ("in arm (mm)", "out arm (mm)"):
            assert float(row[arm]) == pytest.approx(250 / math.cos(splay), abs=6e-3)
        assert float(row["splay (deg)"]) == pytest.approx(math.degrees(splay), abs=6e-3)
        assert float(row["between the arms (deg)"]) == pytest.approx(180.0)
        assert (row["material"], row["width (mm)"], row["thickness (mm)"]) == ("sugar-maple", "28.000", "9.000")


def test_every_key_and_square_is_listed():
    case = laid_out()
    found = [row for row in rows(case) if row["note"] == "C4"]
    assert [row["part"] for row in found] == ["key", "lower-square", "upper-square"]
    assert [(float(row["in arm (mm)"]), float(row["out arm (mm)"])) for row in found] == [
        (230, 150),
        (50, 50),
        (50, 50),
    ]
    assert [float(row["between the arms (deg)"]) for row in found[1:]] == pytest.approx([83.2, 96.8], abs=0.05)
    assert {row["arms"] for row in found} == {"of the layout"}


def test_without_paths_arms_are_the_cases_own():
    case = laid_out(Made(paths=False))
    (key, *_) = [row for row in rows(case) if row["note"] == "C4"]
    given = case.values(60, case.part("key"))
    assert float(key["in arm (mm)"]) == pytest.approx(1000 * given["front"].value)
    assert (key["between the arms (deg)"], key["splay (deg)"], key["arms"]) == ("", "", "as the case gives it")


def test_a_side_view_tells_true_arms_beside_those_that_are_seen(splayed):
    drawing = side_views(splayed, splayed.layout, 48, Scale(1, 5), ())[0]
    words = [item.words for item in drawing.items if isinstance(item, Text)]
    true = f"{math.hypot(250, 1000 * abs(splayed.layout.places[48].sideways) / 2):.1f}"
    assert words.count(f"250, true {true}") == 2  # both arms
    assert words.count(true) == 2  # in the table
    assert any(
        "Levers that stand slantwise are longer than they are seen here (backfall)" in one for one in drawing.remarks
    )
    case = laid_out()
    plain = side_views(case, case.layout, 60, Scale(1, 5), ())[0]
    assert not any("Levers that stand slantwise" in one for one in plain.remarks)


def test_the_list_is_written_and_totals_say_that_levers_are_not_in_them(splayed, tmp_path):
    names = {path.name for path in save_drawings(splayed, tmp_path, formats=["svg"]).files}
    assert "levers.csv" in names
    assert "keys and levers are in levers.csv" in totals_sheet((), ()).note
