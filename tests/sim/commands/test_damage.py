"""Damaged, foreign and mistaken files: one sentence and exit status 2, never figures, never a traceback."""

import shutil
from dataclasses import replace

import h5py
import numpy as np
import pytest

from keyaction.plots.report.report import make_report
from keyaction.plots.save import save_all
from keyaction.sim.compare.store import another_case, load_comparison
from keyaction.sim.files.hdf5 import load, save
from keyaction.sim.files.labelled import NotHeld, Result, Variable
from keyaction.sim.files.problem import FileProblem, Unreadable
from keyaction.sim.files.seal import sealed
from keyaction.sim.run.shape import _ALWAYS, _PLAYED, no_run
from keyaction.sim.sweep.sweep import open_study, study_result


@pytest.fixture
def some(played, folder):
    shutil.copy(played / "short.h5", folder / "some.h5")
    return folder / "some.h5"


@pytest.fixture
def rods(compared, folder):
    (folder / "rods").mkdir()
    save(compared, folder / "rods" / "compare.h5")
    return folder / "rods"


@pytest.fixture
def study(swept, tmp_path):
    shutil.copytree(swept[0] / "out", tmp_path / "study")
    return tmp_path / "study"


DAMAGES = {
    "a flipped bit": lambda content: content[:5000] + bytes([content[5000] ^ 4]) + content[5001:],
    "a flipped bit in the seal": lambda content: content[:-9] + bytes([content[-9] ^ 1]) + content[-8:],
    "cut short": lambda content: content[:-100],
    "emptied": lambda _: b"",
    "zeros": lambda content: bytes(len(content)),
    "text": lambda _: b"dear reader\n",
    "longer": lambda content: content + b"\0",
}
every_damage = pytest.mark.parametrize("damage", DAMAGES.values(), ids=DAMAGES)


def refused(said, *words):
    assert (said.status, said.out, len(said.lines)) == (2, "", 1), said
    assert "Traceback" not in said.err
    for word in words:
        assert word in said.err


@every_damage
@pytest.mark.parametrize("arguments", [("show",), ("show", "--note", "C4"), ("report",)])
def test_a_damaged_result(keyaction, some, damage, arguments):
    some.write_bytes(damage(some.read_bytes()))
    command, *more = arguments
    refused(keyaction(command, "some.h5", *more, *(["--out", "page"] if command == "report" else [])), "some.h5: ")
    assert not (some.parent / "page").exists()
    with pytest.raises(FileProblem):
        load(some)


@every_damage
def test_a_damaged_comparison(keyaction, some, rods, damage):
    path = rods / "compare.h5"
    path.write_bytes(damage(path.read_bytes()))
    refused(keyaction("report", some, "--compare", "rods", "--out", "page"), "compare.h5: ")
    assert not (some.parent / "page").exists()


@every_damage
def test_a_damaged_dataset_of_a_sweep(keyaction, study, damage):
    path = study / "results.h5"
    path.write_bytes(damage(path.read_bytes()))
    refused(keyaction("sweep", "show", study), "results.h5: ")
    for read in (study_result, open_study):
        with pytest.raises(Unreadable):
            read(study)


HALF_WRITTEN = "cut short", "emptied"


@pytest.mark.parametrize("damage", [DAMAGES[name] for name in DAMAGES if name not in HALF_WRITTEN])
def test_a_damaged_block_of_a_sweep(keyaction, study, damage):
    (study / "results.h5").unlink()
    path = study / "blocks" / "00" / "00.blocks"
    path.write_bytes(damage(path.read_bytes()))
    refused(keyaction("sweep", "show", study), "00.blocks: ", "--resume")


def test_a_block_that_was_half_written_is_not_yet_computed(keyaction, study):
    """As a machine leaves it that loses its power."""
    (study / "results.h5").unlink()
    path = study / "blocks" / "00" / "00.blocks"
    whole = path.read_bytes()
    path.write_bytes(DAMAGES["cut short"](whole))
    said = keyaction("sweep", "show", study)
    assert said.status == 0 and "not yet computed" in said.out
    path.write_bytes(b"")
    refused(keyaction("sweep", "show", study), "no block of this sweep is finished yet")


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: text.replace('"designs": 24', '"designs": 23'),
        lambda text: text.replace('"format": 3,\n', ""),
        lambda text: text.replace('"format": 3', '"format": "three"'),
        lambda text: text.replace("\n ", "\n  ", 1),
        lambda text: text[:-1],
        lambda text: text + " ",
        lambda _: "",
        lambda _: "[" * 100_000,
        lambda _: '{"content": "sweep of key actions"}',
        lambda _: "\udcff",
    ],
)
def test_a_damaged_manifest(keyaction, swept, study, damage):
    path = study / "study.json"
    path.write_bytes(damage(path.read_text("utf-8")).encode("utf-8", "surrogateescape"))
    refused(keyaction("sweep", "show", study), "study.json: ")
    resumed = keyaction("sweep", swept[0] / "small.toml", "--out", study, "--resume")
    refused(resumed, "study.json: ")


def test_files_of_another_kind_are_named(keyaction, some, rods, study):
    shutil.copy(study / "results.h5", "many.h5")
    refused(keyaction("show", rods / "compare.h5"), "is a comparison", "keyaction report RESULT --compare FOLDER")
    refused(keyaction("show", "many.h5"), "holds many designs", "keyaction sweep show FOLDER")
    refused(keyaction("show", study), "is a folder", "keyaction sweep show DIR")
    refused(keyaction("report", rods / "compare.h5", "--out", "page"), "is a comparison")
    refused(keyaction("report", "many.h5", "--out", "page"), "holds many designs")
    shutil.copy(some, rods / "compare.h5")
    refused(keyaction("report", "some.h5", "--compare", "rods", "--out", "page"), "is no comparison")
    refused(keyaction("show", "x" * 300), "File name too long")
    refused(keyaction("report", "some.h5", "--compare", "x" * 300, "--out", "page"), "File name too long")


@pytest.mark.parametrize("name", ["note", "mass_budget", "time", "pluck_force", "energy_audit"])
def test_a_sound_file_that_is_no_whole_result(keyaction, some, name):
    """As somebody may save one from Python."""
    whole = load(some)
    save(Result({n: v for n, v in whole.variables.items() if name not in (n, *v.dims)}, whole.about), "part.h5")
    refused(keyaction("show", "part.h5"), f"is no whole result of keyaction run ('{name}' is missing); make it anew")


def test_a_figure_that_only_pictures_need(keyaction, some):
    whole = load(some)
    save(Result({n: v for n, v in whole.variables.items() if n != "closing_force"}, whole.about), "part.h5")
    assert keyaction("show", "part.h5").status == 0
    refused(keyaction("report", "part.h5", "--out", "page"), "no 'closing_force' in this result", "make it anew")


def test_what_is_asked_of_a_result_is_what_one_holds(some):
    result = load(some)
    assert no_run(result) == ""
    for name, (dims, _) in (_ALWAYS | _PLAYED).items():
        assert result.variables[name].dims == dims, name


def test_a_result_without_a_note_that_could_be_played(keyaction, some):
    whole = load(some)
    status = np.array(["failed: for a test"] * len(whole.notes), dtype=object)
    lost = {n: v for n, v in whole.variables.items() if not {"time", "sample", "speed"} & {n, *v.dims}}
    lost["status"] = type(whole.variables["status"])(("note",), status)
    save(Result(lost, whole.about), "failed.h5")
    assert keyaction("show", "failed.h5").status == 0


@pytest.mark.long
@pytest.mark.usefixtures("rods")
def test_a_comparison_of_another_case_is_told(keyaction, some, compared):
    assert another_case(compared, compared) == ""
    result = load(some)
    words = f"what was compared is another case: {compared.about['case_name']} '{compared.title}'"
    assert another_case(result, compared).startswith(words)
    same = Result(compared.variables, {**compared.about, "case_name": "short.toml"})
    assert "is another state of the case" in another_case(result, same)
    page = " ".join(make_report(result, compared).html.split())
    assert "Beware: what was compared is another case" in page
    assert "Beware: what was compared" not in make_report(result).html
    said = keyaction("report", "some.h5", "--compare", "rods", "--out", "page")
    assert (said.status, len(said.lines)) == (0, 1)
    assert said.err.startswith(f"warning: {words}")


def test_plain_readers_open_a_sealed_file(some):
    """The seal stands behind the end that the HDF5 file knows of itself."""
    xarray = pytest.importorskip("xarray")
    with h5py.File(some) as file:
        assert file["pluck_force"].shape == (3,)
    for engine in ("h5netcdf", None):
        with xarray.open_dataset(some, engine=engine) as data:
            assert list(data.note.values) == ["C4", "C#4", "D4"]
    content = some.read_bytes()
    assert content == sealed(content[:-83])


def test_an_older_result_is_not_replaced_without_a_word(keyaction, some):
    short = ("--notes", "C4", "--jobs", "1", "--out", "some.h5")
    text = (some.parent / "short.toml").read_text("utf-8")
    more = '[strokes]\nrepetition_highest = "1 Hz"\n\n[[train]]'
    (some.parent / "short.toml").write_text(text.replace("[[train]]", more, 1), "utf-8")
    said = keyaction("run", "short.toml", *short)
    assert said.err.splitlines()[0] == "note: some.h5 is there already; it is replaced when all notes are played"
    assert load(some).notes == ["C4"]


def test_a_file_with_another_unit_or_strokes_that_cannot_be_read_is_no_result_of_run(played):
    """Sealed and whole, and yet nothing that this program wrote: told when it is opened, not when it is drawn."""
    whole = load(played / "short.h5")
    release = whole.variables["release_delay"]
    strange = {**whole.variables, "release_delay": replace(release, unit="x")}
    assert "'release_delay' is in 'x', which is no unit" in no_run(replace(whole, variables=strange))
    for name in ("mass_budget", "feel_down_force", "mode_frequency"):
        strange = {**whole.variables, name: replace(whole.variables[name], unit="1.0")}
        assert f"'{name}' is in '1.0', which is no unit" in no_run(replace(whole, variables=strange))
    for text in ("", "[]", '{"dip_force": "hard"}'):
        assert "'strokes' cannot be read" in no_run(replace(whole, about={**whole.about, "strokes": text}))
    for name in ("case_settings", "case_files"):
        for text in ("x", "3", "[3]", '{"a": 3}'):
            assert f"'{name}' cannot be read" in no_run(replace(whole, about={**whole.about, name: text}))
    number = {**whole.variables, "body_number": Variable((), np.array(0))}
    assert "'body_number' should be whole numbers over body" in no_run(replace(whole, variables=number))
    assert no_run(whole) == ""


def test_a_picture_that_lacks_a_figure_says_which(played, tmp_path):
    whole = load(played / "short.h5")
    less = replace(whole, variables={name: v for name, v in whole.variables.items() if name != "release_delay"})
    with pytest.raises(NotHeld, match="no 'release_delay' in this result"):
        save_all(less, tmp_path / "pictures", [whole.notes[0]])


def test_a_comparison_with_another_unit_is_none(compared, tmp_path):
    strange = replace(compared.variables["speech_delay"], unit="furlongs")
    save(replace(compared, variables={**compared.variables, "speech_delay": strange}), tmp_path / "compare.h5")
    with pytest.raises(Unreadable, match="'speech_delay' is in 'furlongs', which is no unit"):
        load_comparison(tmp_path)
