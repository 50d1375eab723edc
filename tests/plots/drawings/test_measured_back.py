"""Every length of the cutting lists, measured back from the files that were written."""

import csv
import io

import pytest
from laid_out import Made, demo, laid_out
from measured import dxf_lines, pdf_boxes, pdf_pages, svg_lines, svg_words

from keyaction.models.notes import parse_note
from keyaction.plots.drawings.foot import CHECK
from keyaction.plots.drawings.layers import LAYERS
from keyaction.plots.drawings.save import save_drawings
from keyaction.sim.figures.stand_for import standing_for

EXACT = 0.01
"""mm."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("drawings")
    save_drawings(laid_out(), made, scale="1:5", paper="A1")
    return made


@pytest.fixture(scope="module")
def sheets(folder):
    """The rows of the cutting lists as a reader of CSV sees them, without the remarks."""
    return {path.stem: rows_of(path.read_text(encoding="utf-8")) for path in folder.glob("*.csv")}


def rows_of(text):
    return list(csv.DictReader(io.StringIO("".join(f"{one}\n" for one in text.splitlines() if one[:1] != "#"))))


def by_name(lines):
    found = {}
    for line in lines:
        if line.of:
            found.setdefault(line.of, []).append(line)
    return found


@pytest.fixture(scope="module", params=["svg", "dxf"])
def lines(request, folder):
    """Lines of the plan, the board and the side views by what they are, in mm of the real thing."""
    found = []
    for path in folder.glob(f"*.{request.param}"):
        text = path.read_text(encoding="utf-8")
        found += svg_lines(text, scale_of(text)) if request.param == "svg" else dxf_lines(text)
    return by_name(found)


def scale_of(text):
    told = next(words for words in svg_words(text) if words.startswith("Scale "))
    paper, real = told.removeprefix("Scale ").split(":")
    return int(paper) / int(real)


def test_every_roller_is_as_long_as_its_row_says(lines, sheets):
    assert len(sheets["rollers"]) == 56
    for row in sheets["rollers"]:
        note = row["note"]
        (between,), (shaft,) = lines[f"between the arms {note}"], lines[f"shaft {note}"]
        assert between.length == pytest.approx(float(row["between arms (mm)"]), abs=EXACT)
        assert shaft.width == pytest.approx(float(row["shaft (mm)"]), abs=EXACT)


def test_every_arm_and_bearing_stands_where_its_row_says(lines, sheets):
    (board,) = lines["board"]
    edge = board.middle - board.width / 2
    for row in sheets["rollers"]:
        note = row["note"]
        for what in ("key arm", "pallet arm", "left bearing", "right bearing"):
            (box,) = lines[f"{what} {note}"]
            assert box.middle - edge == pytest.approx(float(row[f"{what} from left edge (mm)"]), abs=EXACT)
        assert float(row["key arm, across (mm)"]) - float(row["key arm from left edge (mm)"]) == pytest.approx(
            float(sheets["rollers"][0]["key arm, across (mm)"])
            - float(sheets["rollers"][0]["key arm from left edge (mm)"]),
            abs=2e-3,
        )


def test_rows_are_where_they_are_counted(lines, sheets):
    lowest, second = lines["row 1"][0], lines["row 2"][0]
    pitch = abs(second.points[0][1] - lowest.points[0][1])
    for row in sheets["rollers"]:
        at = lines[f"between the arms {row['note']}"][0].points[0][1]
        assert abs(at - lowest.points[0][1]) == pytest.approx(pitch * (int(row["row"]) - 1), abs=EXACT)


def test_every_rod_of_a_drawn_note_is_as_long_as_its_row_says(lines, sheets):
    compass = demo().compass
    drawn = {compass[i] for i in standing_for(compass, [True] * len(compass))}
    found = [row for row in sheets["rods"] if parse_note(row["note"]) in drawn]
    assert len(found) == 4 * 3
    for row in found:
        (rod,) = lines[f"{row['part']} {row['note']}"]
        assert rod.length == pytest.approx(float(row["between ends (mm)"]), abs=EXACT)
        cut = float(row["between ends (mm)"]) + 2 * float(row["allowance at each end (mm)"])
        assert float(row["cut (mm)"]) == pytest.approx(cut, abs=2e-3)


def test_every_rod_of_all_notes_when_all_are_drawn(tmp_path):
    case = laid_out(Made(notes=tuple(range(48, 54)), bar=0.011, order="chromatic"))
    save_drawings(case, tmp_path, notes=range(48, 54), formats=["dxf"])
    lines = by_name(line for path in tmp_path.glob("side-*.dxf") for line in dxf_lines(path.read_text("utf-8")))
    rows = rows_of((tmp_path / "rods.csv").read_text(encoding="utf-8"))
    assert len(rows) == 24
    for row in rows:
        assert lines[f"{row['part']} {row['note']}"][0].length == pytest.approx(
            float(row["between ends (mm)"]), abs=EXACT
        )


def test_a_slantwise_rod_is_measured_from_two_views(tmp_path):
    case = laid_out(Made(splayed="drop"))
    save_drawings(case, tmp_path, notes=demo().compass[::11], formats=["dxf"])
    fan = by_name(dxf_lines((tmp_path / "fan.dxf").read_text("utf-8")))
    side = by_name(line for path in tmp_path.glob("side-*.dxf") for line in dxf_lines(path.read_text("utf-8")))
    rows = [row for row in rows_of((tmp_path / "rods.csv").read_text("utf-8")) if row["part"] == "drop"]
    assert len(rows) == 56
    for row in rows[::11]:
        across = fan[f"drop {row['note']}"][0].width
        length = (across**2 + side[f"drop {row['note']}"][0].length ** 2) ** 0.5
        assert length == pytest.approx(float(row["between ends (mm)"]), abs=EXACT)


def test_totals_are_the_sum_of_the_rows(sheets):
    rods = {row["part"]: row for row in sheets["totals"]}
    for part in ("riser", "level-tracker", "drop", "pull-down"):
        cuts = [float(row["cut (mm)"]) for row in sheets["rods"] if row["part"] == part]
        assert int(rods[part]["pieces"]) == len(cuts) == 56
        assert float(rods[part]["cut in all (m)"]) == pytest.approx(sum(cuts) / 1000, abs=1e-4)
        assert float(rods[part]["longest (mm)"]) == pytest.approx(max(cuts))
    shafts = [float(row["shaft (mm)"]) / 1000 for row in sheets["rollers"]]
    # Square of 24 mm, Sitka spruce of the library; grams.
    density = demo().library.get("sitka-spruce")["density"].value
    assert float(rods["roller"]["mass (g)"]) == pytest.approx(1000 * sum(shafts) * 0.024**2 * density, rel=1e-4)


@pytest.mark.parametrize("name", ["plan", "board", "side-C4"])
def test_a_unit_of_the_svg_is_a_millimetre(folder, name):
    text = (folder / f"{name}.svg").read_text(encoding="utf-8")
    head = text[text.index("<svg") :].split(">", 1)[0]
    wide, high = (head.split(f'{what}="')[1].split('mm"')[0] for what in ("width", "height"))
    assert f'viewBox="0 0 {wide} {high}"' in head
    (bar,) = [line for line in svg_lines(text, 1.0) if line.of == "scale bar"]
    assert bar.width == 100.0
    assert CHECK in svg_words(text)


@pytest.mark.parametrize("name", ["plan", "board", "side-C4"])
def test_a_pdf_has_its_paper_and_its_bar(folder, name):
    content = (folder / f"{name}.pdf").read_bytes()
    (paper,) = pdf_pages(content)
    assert sorted(paper) == pytest.approx([594 / 25.4 * 72, 841 / 25.4 * 72], abs=0.01)
    # The whole bar is the one outline that is 100 mm by 2 mm.
    mm = [(wide * 25.4 / 72, high * 25.4 / 72) for wide, high in pdf_boxes(content)]
    assert len([one for one in mm if one == pytest.approx((100.0, 2.0), abs=0.001)]) == 1


def test_shafts_measured_back_from_the_pdf(folder, sheets):
    wide = sorted(5 * 25.4 / 72 * box[0] for box in pdf_boxes((folder / "board.pdf").read_bytes()))
    for row in sheets["rollers"]:
        assert any(one == pytest.approx(float(row["shaft (mm)"]), abs=EXACT) for one in wide)


def test_dxf_is_in_millimetres_on_named_layers(folder):
    ezdxf = pytest.importorskip("ezdxf")
    doc = ezdxf.readfile(folder / "board.dxf")
    assert doc.header["$INSUNITS"] == 4
    found = {}
    for entity in doc.modelspace():
        found[entity.dxf.layer] = found.get(entity.dxf.layer, 0) + 1
    assert set(found) <= set(LAYERS)
    assert found["ROLLERS"] == 56
    assert found["ARMS"] == found["BEARINGS"] == found["RODS"] == 2 * 56
    assert not doc.audit().errors
    for name in found:
        assert doc.layers.get(name).dxf.lineweight in (13, 18, 25, 35, 50, 70)


@pytest.mark.parametrize("scale", ["1:1", "1:10"])
def test_dxf_has_real_size_whatever_the_scale(tmp_path, scale):
    save_drawings(laid_out(), tmp_path, scale=scale, paper="A0", formats=["dxf"], notes=[])
    shafts = {line.of: line.width for line in dxf_lines((tmp_path / "board.dxf").read_text("utf-8"))}
    cut = {row["note"]: row["shaft (mm)"] for row in rows_of((tmp_path / "rollers.csv").read_text("utf-8"))}
    assert shafts["shaft C2"] == pytest.approx(float(cut["C2"]), abs=EXACT)
