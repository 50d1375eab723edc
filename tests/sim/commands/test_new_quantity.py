"""A new quantity is one function and one row: entered for a moment, it stands in everything that the commands write."""

import csv

import numpy as np
import pytest
from short_case import QUICK, write_case
from small_study import write_study
from working_folder import folder_with

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.play import play_record
from keyaction.sim.figures.registry import Quantity, Spot
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.files.hdf5 import load
from keyaction.sim.lanes.evaluate import available, evaluate
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.sweep.open import study_result

NOTES = ("C4", "C#4", "D4")


def blown_time(record):
    """Time for which the full pressure would have blown as much as the groove gave in the standard stroke."""
    stroke = record.stroke
    return float(np.trapezoid(stroke["groove_pressure"], stroke.t)) / record.box_pressure


ROW = Quantity(
    blown_time, "s", "time blown", "blown", 0, source="stroke", sense="more",
    tables=(Spot("notes"), Spot("figures"), Spot("compared"), Spot("brief"), Spot("pictures")),
)  # fmt: skip


@pytest.fixture
def entered(monkeypatch):
    """The row in the registry."""
    monkeypatch.setitem(QUANTITIES, ROW.name, ROW)


folder = folder_with(lambda folder: write_case(folder, more=QUICK))


@pytest.fixture(scope="module")
def ms(short_case):
    """What SciPy gives for each note, ms."""
    case, unasked = short_case, Repetition(float("nan"), "", 0)
    records = [play_record(NoteModel(train_of(case, note)), case.strokes, unasked) for note in (60, 61, 62)]
    return [1e3 * blown_time(record) for record in records]


def column(path, heading):
    """A column of a CSV file, as numbers."""
    head, *rows = csv.reader(path.read_text(encoding="utf-8").splitlines())
    return [float(row[head.index(heading)]) for row in rows]


@pytest.mark.usefixtures("entered")
def test_in_result_and_terminal(keyaction, ms):
    told = keyaction("run", "short.toml", "--notes", "C4:D4", "--out", "new.h5", "--jobs", 1)
    assert told.status == 0, told.err
    made = load("new.h5").variables[ROW.name]
    assert (made.unit, made.label, made.definition) == ("s", "time blown", ROW.definition)
    assert 1e3 * made.data == pytest.approx(ms)
    for out in (told.out, keyaction("show", "new.h5").out):
        # The usual columns fill the line: the new one stands in a table of its own below.
        assert max(map(len, out.splitlines())) <= 80
        lines = [line.split() for line in out[out.index("blown") :].splitlines() if line.split()]
        assert ["note", "ms"] in lines
        assert [line[1] for line in lines if line[0] in NOTES] == [f"{time:.0f}" for time in ms]
    out = " ".join(keyaction("show", "new.h5", "--note", "C4").out.split())
    assert f"time blown {ms[0]:.3g} ms" in out


@pytest.mark.usefixtures("entered")
def test_in_the_report(keyaction, folder, ms):
    assert keyaction("report", "short.toml", "--notes", "C4:D4", "--out", "report", "--jobs", 1).status == 0
    assert column(folder / "report" / "figures.csv", "blown (ms)") == pytest.approx(ms, abs=0.051)  # to 0.1 ms
    head, *rows = csv.reader((folder / "report" / "glance.csv").read_text(encoding="utf-8").splitlines())
    _, unit, *shown = next(row for row in rows if row[0] == "time blown")
    by_note = dict(zip(NOTES, ms, strict=True))
    assert unit == "ms" and [float(cell) for cell in shown] == pytest.approx([by_note[n] for n in head[2:]], rel=5e-5)
    page = (folder / "report" / "report.html").read_text(encoding="utf-8")
    assert ROW.definition in page and "blown" in page


@pytest.mark.usefixtures("entered")
def test_in_the_lanes_and_judged_there(folder, ms):
    case = read_case(folder / "short.toml")
    assert ROW.name in available()
    outcome = evaluate([train_of(case, note) for note in (60, 61, 62)], case.strokes, [ROW.name], sample=3)
    assert outcome.checks[0].compared == 3 and outcome.checks[0].quantity == ROW.name
    assert 0 < outcome.checks[0].worst < 0.005
    assert 1e3 * outcome.quantities[ROW.name] == pytest.approx(ms, rel=5e-3)


@pytest.mark.usefixtures("entered")
def test_in_a_sweep(keyaction, folder):
    head = f'quantities = ["pluck_force", "{ROW.name}"]\nnotes = "C4"\n'
    write_study(folder, 'plan = "random"\ndesigns = 12', head=head, name="new.toml")
    told = keyaction("sweep", "new.toml", "--out", "new", "--jobs", 1, "--progress", "none")
    assert told.status == 0, told.err
    made = study_result(folder / "new").variables[ROW.name]
    assert (made.unit, made.label, made.definition) == ("s", "time blown", ROW.definition)
    assert made.data.shape == (12, 1) and np.all(made.data > 0.1)
    shown = keyaction("sweep", "show", "new", "--quantity", ROW.name, "--pareto", f"pluck_force,{ROW.name}").out
    assert "time blown" in shown and "more time blown is better" in " ".join(shown.split())


@pytest.mark.long
@pytest.mark.usefixtures("entered")
def test_in_a_comparison(keyaction, folder):
    told = keyaction("compare", "short.toml", "--set", "box.pressure=70 mmH2O,85 mmH2O", "--notes", "C4:D4",
                     "--out", "here", "--jobs", 1)  # fmt: skip
    assert told.status == 0, told.err
    assert "time blown" in told.out
    made = load(folder / "here" / "compare.h5")[ROW.name]
    for v, letter in enumerate("AB"):
        assert column(folder / "here" / "notes.csv", f"time blown {letter} (ms)") == pytest.approx(
            1e3 * made[v], rel=5e-5
        )


def test_before_and_after_it_is_nowhere(folder):
    assert ROW.name not in QUANTITIES and ROW.name not in available()
    case = read_case(folder / "short.toml")
    with pytest.raises(KeyError, match="no such quantity: blown_time"):
        evaluate([train_of(case, 60)], case.strokes, [ROW.name])


def test_a_quantity_of_the_presses_at_speed_is_not_in_the_lanes(monkeypatch):
    monkeypatch.setitem(QUANTITIES, ROW.name, Quantity(blown_time, "s", "time blown", source="presses"))
    assert ROW.name not in available()
