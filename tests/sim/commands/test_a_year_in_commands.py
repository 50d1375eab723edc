"""seasons, rail and adjust: one real year of two notes, what is wrong with options, days as people name them."""

import csv
import inspect
import shutil
from datetime import date, timedelta
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import numpy as np
import pytest
from small_pedal import write_pedal

from keyaction.cases.text.find import shipped
from keyaction.models.climate.year import DAY, Year
from keyaction.sim.commands import options
from keyaction.sim.commands.adjust import instant
from keyaction.sim.commands.divisions import NotChosen


def rows(path):
    with path.open(newline="") as file:
        return list(csv.DictReader(file))


def write_air(path):
    """Four dry weeks and four damp ones, every day."""
    days = [f"{date(2025, 1, 1) + timedelta(days=day)},18,{35 if day < 28 else 65}" for day in range(56)]
    path.write_text("\n".join(["# made up", "date,temperature,humidity", *days]), encoding="utf-8")
    return path


def test_a_year_of_two_notes(keyaction, tmp_path):
    where = ("--csv", tmp_path / "notes.csv", "--months", tmp_path / "months.csv")
    climate = write_air(tmp_path / "air.csv")
    said = keyaction("seasons", "demo-wood", "--notes", "C4,C5", "--climate", climate, *where)
    assert (said.status, said.err) == (0, "")
    text = " ".join(said.out.split())
    assert "air.csv, 18 °C, 35 to 65 % RH" in text and "40 to 60 % humidity" in text
    order = ("- Climate: ", "No note sounds unplayed", "What follows at the key", "40 to 60 % humidity", "Caution: ")
    assert [text.index(one) for one in order] == sorted(text.index(one) for one in order)
    notes, months = rows(tmp_path / "notes.csv"), rows(tmp_path / "months.csv")
    assert [row["note"] for row in notes] == ["C4", "C5"]
    assert months[0]["time"] == "1-7 Jan" and float(months[0]["relative humidity, most (%)"]) == 35.0
    plays = [float(row["play of balanced keys, most (mm)"]) for row in months]
    assert plays[-1] > plays[0] + 0.2  # damp wood is longer: the run goes slack


WRONG = [
    (["seasons", "demo-wood", "--csv", "same.csv", "--months", "./same.csv"], "--months same.csv: --csv goes there"),
    (["adjust", "demo-wood", "--note", "C4,D4"], "--note C4,D4: names 2 notes"),
    (["adjust", "demo-wood", "--note", ""], "--note: name a note"),
    (["rail", "demo-instrument", "--division", "pedal", "--chord", ""], "--chord: name its notes"),
    (["seasons", "demo-wood", "--drift", "0 mm"], "--drift 0 mm: must be"),
    (["seasons", "demo-wood", "--drift", "5"], "--drift: "),
    (["seasons", "demo-wood", "--jobs", "-1"], "--jobs -1"),
    (["seasons", "demo-wood", "--climate", "damp-sumer"], "damp-summer"),
    (["seasons", "demo-wood", "--climate", "nowhere.csv"], "nowhere.csv"),
    (["seasons", "demo-wood", "--note", "C9"], "C9"),
    (["rail", "demo-wood"], "state a [rail]"),
    (["rail", "demo-instrument", "--out", "set.toml"], "--out: one division is needed"),
    (["rail", "demo-instrument", "--chord", "C2 E2"], "--chord: one division is needed"),
    (["adjust", "demo-wood", "--note", "C2", "--pitch", "1 m"], "--pitch 1 m: must be"),
    (["adjust", "demo-instrument", "--note", "C2"], "--note: one division is needed"),
]


@pytest.mark.parametrize(("arguments", "text"), WRONG)
def test_what_is_wrong_is_named_and_nothing_computed(keyaction, arguments, text):
    said = keyaction(*arguments)
    assert said.status == 2
    assert text in said.err


def test_a_case_is_written_as_its_rail_leaves_it_and_played_so(keyaction, tmp_path):
    case, made = write_pedal(tmp_path), tmp_path / "set.toml"
    said = keyaction("rail", case, "--out", made)
    assert said.status == 0 and f"regulated case: {made}" in " ".join(said.out.split())
    assert "there already" in keyaction("rail", case, "--out", made).err
    before, after = (keyaction("weigh", one, "--notes", "C2") for one in (case, made))
    assert "C2 then plucks at 2.44 mm (here 3.53 mm) with the same force" in before.err
    assert "plucks" not in after.err and "load pulls comes off them" in after.err
    kept = keyaction("run", made, "--notes", "C2", "--out", tmp_path / "set.h5")
    assert kept.status == 0 and kept.err == ""
    row = next(line for line in kept.out.splitlines() if line.startswith("C2"))
    assert row.split()[1] == "2.4"  # mm


def test_no_nuts_are_written_where_the_rail_stands_at_a_stop(keyaction, tmp_path):
    case, made = write_pedal(tmp_path, ('mass = "0.6 kg"', 'mass = "20 g"')), tmp_path / "set.toml"
    said = keyaction("rail", case, "--out", made)
    assert said.status == 1 and "not written: with its load the rail stands at a stop" in " ".join(said.err.split())
    assert not made.exists()


@pytest.mark.parametrize("command", [("rail",), ("tune", "--pluck", "500 gf")])
def test_a_division_never_takes_the_place_of_its_instrument(keyaction, tmp_path, command):
    drawn = shipped()["demo-instrument"]
    shutil.copytree(drawn.parent / "demo-instrument", tmp_path / "demo-instrument")
    file = Path(shutil.copy(drawn, tmp_path))
    kept, (name, *more) = file.read_bytes(), command
    said = keyaction(name, file, "--division", "pedal", *more, "--out", file, "--force")
    assert said.status == 2 and "that is the instrument itself" in said.err
    assert file.read_bytes() == kept


SAY_NOTHING = {
    "declare", "new", "materials", "equations", "springs",  # no figure of a touch
    "seasons", "rail", "adjust",  # the rail where its load leaves it
    "report",  # on its page
}  # fmt: skip


@pytest.mark.parametrize("name", sorted({one.name for one in iter_modules(options.__path__)} - SAY_NOTHING))
def test_every_other_command_says_where_it_has_a_floating_rail(name):
    assert "keyaction.sim.commands.on_rail" in inspect.getsource(import_module(f"keyaction.sim.commands.{name}"))


def test_a_rail_that_is_made_fast_leaves_nuts_as_they_are(keyaction, tmp_path):
    case = write_pedal(tmp_path, ('towards = "down"\nmass', 'fixed = true\ntowards = "down"\nmass'))
    said = keyaction("rail", case, "--out", tmp_path / "set.toml")
    assert said.status == 2 and "the case makes its rail fast" in said.err
    assert "rail" not in keyaction("weigh", case, "--notes", "C2").err


# -- days -----------------------------------------------------------------------------------------------------
def year(start=None, an_hour=1):
    count = 60 * an_hour
    return Year("air", np.arange(count) * DAY / an_hour, np.full(count, 290.0), np.full(count, 0.5), start)


@pytest.mark.parametrize("text", ["12 Feb", " 12  feb ", "2025-02-12", "43", "day 43"])
def test_a_day_is_named_as_people_do(text):
    assert instant(text, year(date(2025, 1, 1))) == 42
    assert instant(text, year(date(2025, 1, 1), an_hour=24)) == 42 * 24


@pytest.mark.parametrize(("text", "start"), [("12 Feb", None), ("61", None), ("soon", date(2025, 1, 1))])
def test_a_day_that_is_not_there_is_refused(text, start):
    with pytest.raises(NotChosen, match=r"not in this climate, .* write it as"):
        instant(text, year(start))
