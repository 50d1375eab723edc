"""Keys that work in stages: what wind or a felt moves has its place in the path, and the pluck stands on the curve."""

import io
from contextlib import redirect_stderr, redirect_stdout
from types import SimpleNamespace

import numpy as np
import pytest
from figure_checks import line, words

from keyaction.models.units.quantity import convert, format_value
from keyaction.plots import feel_curve, stroke_path
from keyaction.plots.note.stations import stations
from keyaction.sim.cli import main
from keyaction.sim.files.hdf5 import load

NAMES = {
    "pneumatic-lever": ["finger", "key", "lever-inlet", "lever-bellows", "pallet", "groove"],
    "relief-pallet": ["finger", "key", "pallet's front, seen from it", "pallet", "groove"],
}
"""In the order in which motion goes through the case."""
LINKS = {
    "pneumatic-lever": ["", "finger's pad", "wire", "wind", "pull", "pallet's gap"],
    "relief-pallet": ["", "finger's pad", "wire", "felt", "pallet's gap"],
}
UNMOVED = {"pneumatic-lever": ("lever-bellows", "pallet"), "relief-pallet": ("pallet",)}
"""Bodies that no lever moves: wind does, or a felt after its gap."""


@pytest.fixture(scope="module", params=NAMES)
def staged(request, tmp_path_factory):
    """The lowest note of a shipped case, played by the command: its result, and what was told before."""
    target, told = tmp_path_factory.mktemp("staged") / "made.h5", io.StringIO()
    with redirect_stderr(told), redirect_stdout(io.StringIO()):
        status = main(["run", request.param, "--notes", "C2", "--jobs", "1", "--out", str(target)])
    assert status == 0, told.getvalue()
    return SimpleNamespace(kind=request.param, told=told.getvalue(), result=load(target))


def test_stations_stand_in_the_order_of_what_moves_what(staged):
    found = stations(staged.result, 0)
    assert [one.name for one in found] == NAMES[staged.kind]
    assert [one.link for one in found] == LINKS[staged.kind]
    assert [one.before for one in found] == list(range(-1, len(found) - 1))
    assert [one.strand for one in found] == [""] * len(found)
    arrivals = [one.down for one in found]
    assert arrivals == sorted(arrivals)


def test_what_no_lever_moves_stands_as_high_as_the_key_and_all_else_by_its_ratio(staged):
    result, found = staged.result, {one.name: one for one in stations(staged.result, 0)}
    ratios = dict(zip(result["body"], result["body_ratio"][0].astype(float), strict=True))
    assert {name for name, ratio in ratios.items() if ratio == 0.0} == set(UNMOVED[staged.kind])
    for name, station in found.items():
        if name in ("finger", "groove"):
            continue
        body = name.replace("'s front, seen from it", "-front")
        motion = result["motion"][0, list(result["body"]).index(body)].astype(float)
        if ratios[body]:
            np.testing.assert_allclose(station.way, motion / ratios[body])
        else:
            assert np.max(np.abs(station.way)) == pytest.approx(np.max(np.abs(result["key_travel"][0])), rel=1e-9)
            np.testing.assert_allclose(station.way / np.max(station.way), motion / np.max(motion), atol=1e-12)


def test_the_path_says_how_what_no_lever_moves_is_drawn(staged):
    shown = words(stroke_path(staged.result, "C2"))
    assert {*NAMES[staged.kind], *LINKS[staged.kind][1:]} <= set(shown)
    assert "(what no lever moves: as high as the key)" in " ".join(shown)


def test_the_pluck_lies_on_the_curve_and_its_force_is_led_from_where_the_key_takes_it(staged):
    result, axes = staged.result, feel_curve(staged.result, "C2").axes[0]
    way, force = line(axes, "slow, down").T
    (dot,) = [one.get_xydata()[0] for one in axes.get_lines() if one.get_marker() == "o"]
    point, most = (
        convert(result.value(name, "C2"), unit)[0] for name, unit in (("pluck_point", "m"), ("pluck_force", "N"))
    )
    assert dot == pytest.approx([point, np.interp(point, way, force)])
    assert dot[1] < 0.99 * most  # in both cases the key's greatest force is not at the pluck
    drawn = [one.get_xydata() for one in axes.get_lines()]
    (start,) = [xy[0] for xy in drawn if len(xy) == 2 and xy[0][1] == xy[1][1] == pytest.approx(most)]
    assert np.interp(start[0], way, force) == pytest.approx(most, rel=1e-3)


def test_run_tells_the_stages_before_it_plays(staged):
    (line_told,) = [one for one in staged.told.splitlines() if one.startswith("note: C2: In stages: ")]
    pluck = format_value(staged.result.value("pluck_point", "C2"), "m")
    most = format_value(staged.result.value("pluck_force", "C2"), "N")
    if staged.kind == "relief-pallet":
        assert f"pallet opens at {pluck} with " in line_told
        assert f"; pallet lifts its large pallet at 3.45 mm with {most}, the groove 14 % full." in line_told
    else:
        assert line_told.index("lever moves its bellows at ") < line_told.index(f"; pallet opens at {pluck} with ")
