"""Designs as case files: every note has what the design has, in the file's own units, and nothing else changes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from short_case import write_case
from small_search import data

from keyaction.cases.action.reader import read_case
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.search.load import load_search
from keyaction.sim.search.written import design_text, read_again, write_design

OWN = '\n[notes.D4.pallet-spring]\nforce = "3.5 N"\n[notes.E4.pull-down]\nlength = "300 mm"\n'


def written(folder, *vary, row=(0.0,), more=OWN, **study):
    """The case as it is, as a design has it, and its text."""
    write_case(folder, more=more)
    tables = data("short.toml", *vary, aims=["pluck_force"], limits=["none"])
    search, _ = load_search(folder / "small.toml", {**tables, **study})
    text = design_text(search, np.array(row), "Design 0 of a search")
    return search.case, read_again(search.case, text), text


@pytest.mark.parametrize(
    ("part", "field"),
    [("pallet-spring", "force"), ("pull-down", "length"), ("pallet", "opening_length"), ("key", "arm")],
)
def test_a_factor_multiplies_what_every_note_has(tmp_path, part, field):
    """One value and a note's own; a CSV column and a note's own; control points; one value."""
    before, after, text = written(tmp_path, {"field": f"{part}.{field}", "scale": [0.9, 1.1]})
    for note in before.compass:
        old, new = (case.part(part).fields[field][note].value for case in (before, after))
        assert new == pytest.approx(0.9 * old, rel=1e-9), note
    if part == "pallet-spring":
        assert 'force = "2.7 N"' in text and 'force = "3.15 N"' in text and "[notes.C4" not in text
    if part == "pallet":
        assert 'C4 = "171 mm"' in text and 'between = "linear"' in text


def test_a_value_goes_over_the_whole_compass_and_notes_of_their_own(tmp_path):
    spring = {"field": "pallet-spring.force", "values": ["3 N", "3.2 N"]}
    _, after, text = written(tmp_path, spring, row=(0.75,))
    assert {one.value for one in after.part("pallet-spring").fields["force"].values()} == {3.2}
    assert text.count('force = "3.2 N"') == 2  # in the train, and the note's own


def test_what_a_study_sets_is_in_the_case_too(tmp_path):
    given = {"set": {"key": {"arm": "245 mm"}, "strokes": {"down": "30 ms"}}}
    _, after, text = written(tmp_path, {"field": "pallet-spring.force", "scale": [0.9, 1.1]}, **given)
    assert 'arm = "245 mm"' in text
    assert after.part("key").fields["arm"][60].value == 0.245 and after.strokes.down == 0.03
    assert not after.settings


def test_the_case_as_it_is_is_its_own_text(tmp_path):
    before, _, text = written(tmp_path, {"field": "key.arm", "scale": [0.9, 1.1]}, row=(float("nan"),))
    assert text == before.text


def test_files_are_written_whole_and_over_nothing(tmp_path):
    path = tmp_path / "new" / "one.toml"
    made = write_design(path, "format = 1", {"chest.csv": "a,b"}, force=False)
    assert made == [path, path.parent / "chest.csv"]
    assert write_design(path, "format = 1", {"chest.csv": "a,b"}, force=False) == [path]  # the same is there
    with pytest.raises(FileProblem, match="there already"):
        write_design(path, "format = 2", {"chest.csv": "other"}, force=False)
    assert path.read_text(encoding="utf-8") == "format = 1"
    write_design(path, "format = 2", {}, force=True)
    assert path.read_text(encoding="utf-8") == "format = 2"
    assert sorted(one.name for one in path.parent.iterdir()) == ["chest.csv", "one.toml"]


def test_options_of_several_fields(tmp_path):
    rod = {"name": "wire", "options": {"thin": {"pull-down": {"diameter": "1 mm"}}, "tube": TUBE}}
    _, after, _ = written(tmp_path, rod, row=(0.75,))
    assert after.part("pull-down").fields["section"][60].value == "tube"
    assert read_case(Path(tmp_path) / "short.toml").part("pull-down").fields["section"][60].value == "round"


TUBE = {"pull-down": {"section": "tube", "diameter": "2 mm", "wall": "0.3 mm"}}
