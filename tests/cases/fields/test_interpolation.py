"""Properties of values over the compass, and of the reader under random changes of a sound file."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from case_files import HEAD, LEVER, PARTS
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from keyaction.cases.action.reader import read_case
from keyaction.cases.fields.profile import BETWEEN, spread
from keyaction.cases.text.defects import BadValue, CaseProblem

NOTES = range(36, 92)
values = st.floats(1e-6, 1e6)


@st.composite
def control_points(draw: st.DrawFn) -> list[tuple[int, float]]:
    notes = sorted(draw(st.sets(st.sampled_from(NOTES), min_size=2, max_size=8)))
    return [(note, draw(values)) for note in notes]


@given(control_points(), st.sampled_from(BETWEEN))
def test_through_the_control_points_and_held_outside(points: list[tuple[int, float]], between: str) -> None:
    found = spread(points, between, NOTES)
    assert list(found) == list(NOTES)
    for note, value in points:
        assert found[note] == value
    for note in NOTES:
        if note < points[0][0]:
            assert found[note] == points[0][1]
        if note > points[-1][0]:
            assert found[note] == points[-1][1]


@given(control_points(), st.sampled_from(BETWEEN))
def test_never_outside_the_neighbouring_points(points: list[tuple[int, float]], between: str) -> None:
    found = spread(points, between, NOTES)
    for (left, low), (right, high) in pairwise(points):
        for note in range(left, right + 1):
            assert min(low, high) <= float(found[note]) <= max(low, high)


@given(control_points(), st.sampled_from(BETWEEN), st.booleans())
def test_monotone_points_give_monotone_values(points: list[tuple[int, float]], between: str, falling: bool) -> None:
    ordered = sorted((value for _, value in points), reverse=falling)
    found = spread([(note, value) for (note, _), value in zip(points, ordered, strict=True)], between, NOTES)
    sign = -1.0 if falling else 1.0
    for before, after in pairwise(float(value) for value in found.values()):
        assert sign * (after - before) >= -1e-12 * max(before, after)


def test_known_values() -> None:
    points = [(36, 1.0), (48, 4.0)]
    assert spread(points, "linear", [39])[39] == pytest.approx(1.75)
    assert spread(points, "geometric", [42])[42] == pytest.approx(2.0)
    assert spread(points, "steps", [47])[47] == 1.0
    # Two points leave the smooth law a straight line.
    assert spread(points, "smooth", [39])[39] == pytest.approx(1.75)


def test_smooth_has_no_corner_where_linear_has_one() -> None:
    points = [(36, 0.0), (48, 1.0), (60, 4.0)]
    smooth = np.array(list(spread(points, "smooth", range(36, 61)).values()), dtype=float)
    linear = np.array(list(spread(points, "linear", range(36, 61)).values()), dtype=float)
    assert np.abs(np.diff(smooth, 2)).max() < 0.5 * np.abs(np.diff(linear, 2)).max()


def test_geometric_refuses_zero_and_overflow_is_named() -> None:
    with pytest.raises(BadValue, match="above zero"):
        spread([(36, 0.0), (48, 1.0)], "geometric", NOTES)
    with pytest.raises(BadValue, match="too far apart"):
        spread([(36, -1.7e308), (48, 1.7e308), (60, -1.7e308)], "smooth", NOTES)


SOUND = f"""{HEAD}[materials.my-oak]
kind = "wood"
source = "test"
density = "700 kg/m^3"
E = {{ value = "11 GPa", spread = "10 %" }}
{LEVER}front = {{ between = "smooth", C2 = "230 mm", C3 = "220 mm", C4 = "200 mm" }}
width = {{ csv = "chest.csv", column = "wide", unit = "mm" }}
ratio = "60 %"
pieces = 3
wood = {{ between = "steps", C2 = "my-oak", C3 = "sugar-maple" }}
bushed = true
pin = {{ diameter = "2 mm", friction = "cloth-on-pin" }}
leads = [{{ mass = "30 g", at = "-120 mm" }}]
[notes."C#3".lever]
front = "201 mm"
[strokes]
speeds = ["50 mm/s", "100 mm/s", "250 mm/s"]
"""

SPLICES = st.sampled_from(
    [
        "",
        "=",
        "[",
        "]",
        "{",
        "}",
        '"',
        "'",
        "#",
        ".",
        ",",
        "\n",
        "nan",
        "inf",
        "-1",
        "1e999",
        "true",
        "0",
        "99999",
        "C2",
        "C9",
        "[[train]]\n",
        "[notes.C3.lever]\n",
        "between",
        "csv",
        '"geometric"',
        "[]",
        "{}",
        '""',
        '"-5 mm"',
        "1979-05-27",
        "\0",
        "\\",
        "é",
        '"1e308 m"',
        '"°C"',
        '"%"',
        "[[x]]\n",
        '"0 mm"',
        'name = "lever"\n',
        "3.5",
    ]
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("mutations")
    names = ("C", "Cs", "D", "Ds", "E", "F", "Fs", "G", "Gs", "A", "As", "B")
    rows = "".join(f"{name}{octave},20\n" for octave in (2, 3) for name in names)
    (path / "chest.csv").write_text(f"note,wide\n{rows}C4,20\n")
    (path / "sound.toml").write_text(SOUND)
    return path


def test_the_file_that_is_changed_is_sound(folder: Path) -> None:
    assert len(read_case(folder / "sound.toml", PARTS).compass) == 25


def refuses_or_reads(path: Path) -> None:
    """Only a finite case or a `CaseProblem` may come out."""
    try:
        case = read_case(path, PARTS)
    except CaseProblem as problem:
        assert problem.defects
        assert all(one.message for one in problem.defects)
        assert len(str(problem)) > 0
        return
    for part in case.parts:
        for note in case.compass:
            numbers = [one.value for one in case.values(note, part).values() if isinstance(one.value, float)]
            assert all(map(math.isfinite, numbers))


@settings(
    max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(st.lists(st.tuples(st.integers(0, len(SOUND)), st.integers(0, 12), SPLICES), min_size=1, max_size=3))
def test_random_splices_raise_nothing_else(folder: Path, changes: list[tuple[int, int, str]]) -> None:
    text = SOUND
    for start, length, new in changes:
        text = text[:start] + new + text[start + length :]
    path = folder / "changed.toml"
    path.write_text(text, encoding="utf-8")
    refuses_or_reads(path)


CSV_SPLICES = st.sampled_from(["", ",", '"', "\n", "\r", "#", ";", "\0", "C2", "X", "nan", "-5", "20 mm"])


@settings(
    max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(st.lists(st.tuples(st.integers(0, 160), st.integers(0, 8), CSV_SPLICES), min_size=1, max_size=3))
def test_random_csv_files_raise_nothing_else(folder: Path, tmp_path: Path, changes: list[tuple[int, int, str]]) -> None:
    table = (folder / "chest.csv").read_text()
    for start, length, new in changes:
        table = table[:start] + new + table[start + length :]
    (tmp_path / "chest.csv").write_bytes(table.encode())
    (tmp_path / "demo.toml").write_text(SOUND)
    refuses_or_reads(tmp_path / "demo.toml")


TOKENS = [line.split(" = ", 1) for line in SOUND.splitlines() if " = " in line]
VALUES = st.sampled_from(
    [
        "1",
        "-1",
        "0.5",
        "nan",
        "-inf",
        "true",
        '""',
        '"x"',
        '"5"',
        '"5 mm"',
        '"-5 kg"',
        '"60 %"',
        "[]",
        "[1]",
        "{}",
        "[[]]",
        "[{}]",
        '{ C2 = "1 mm" }',
        "{ between = [] }",
        '{ between = "geometric", C2 = "0 mm", C4 = "1 mm" }',
        "{ csv = 1 }",
        '{ csv = "", column = "" }',
        '{ csv = "chest.csv", column = "note" }',
        "{ kind = [] }",
        '{ csv = "sound.toml", column = "x" }',
        "1979-05-27T07:32:00Z",
        "07:32:00",
        "9223372036854775807",
        "{ value = {} }",
        '{ value = "5 GPa", source = [], spread = {} }',
        '"1e300 m"',
        "[[1], [2], [3]]",
    ]
)


@settings(
    max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(st.lists(st.tuples(st.sampled_from(range(len(TOKENS))), VALUES), min_size=1, max_size=3))
def test_random_values_raise_nothing_else(folder: Path, changes: list[tuple[int, str]]) -> None:
    text = SOUND
    for index, value in changes:
        key, old = TOKENS[index]
        text = text.replace(f"{key} = {old}", f"{key} = {value}", 1)
    path = folder / "changed.toml"
    path.write_text(text, encoding="utf-8")
    refuses_or_reads(path)
