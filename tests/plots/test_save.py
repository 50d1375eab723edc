"""All pictures as files: named by note, whole or not there."""

import matplotlib.image
import numpy as np
import pytest
from figure_checks import changed, failed

from keyaction.plots import save_all, usual_notes
from keyaction.sim.files.problem import Taken

NAMES = ["compass.png", "budgets.png", "feel-Cs4.png", "stroke-Cs4.png", "path-Cs4.png", "budget-Cs4.png"]


@pytest.fixture(scope="module")
def written(played, tmp_path_factory):
    told = []
    folder = tmp_path_factory.mktemp("pictures") / "new" / "folder"
    paths = save_all(played, folder, notes=["C#4"], progress=lambda *news: told.append(news))
    return folder, paths, told


def test_files_are_named_by_picture_and_note(written):
    folder, paths, told = written
    assert [path.name for path in paths] == NAMES
    assert sorted(path.name for path in folder.iterdir()) == sorted(NAMES)
    assert told == [(folder / name, i + 1, len(NAMES)) for i, name in enumerate(NAMES)]


@pytest.mark.parametrize("name", NAMES)
def test_pictures_are_not_blank(written, name):
    image = matplotlib.image.imread(written[0] / name)[..., :3]
    assert min(image.shape[:2]) >= 600
    ink = np.mean(np.any(image < 0.9, axis=-1))
    assert 0.01 < ink < 0.6
    middle = image[image.shape[0] // 4 : -image.shape[0] // 4, image.shape[1] // 4 : -image.shape[1] // 4]
    assert np.std(middle) > 0.02


def _compass(result, notes, status="ok"):
    """A result that only knows its notes."""
    names = [f"{['C', 'C#', 'D', 'D#', 'E', 'F', 'F#', 'G', 'G#', 'A', 'A#', 'B'][n % 12]}{n // 12 - 1}" for n in notes]
    return changed(
        result,
        note=np.array(names, dtype=object),
        semitone=np.array(notes),
        status=np.array([status] * len(notes), dtype=object),
    )


@pytest.mark.parametrize(
    ("notes", "expected"),
    [
        (range(36, 92), ["C2", "C4", "C6"]),
        (range(48, 72), ["C3", "C4"]),
        ([61, 62, 63, 64], ["C#4", "D#4", "E4"]),
        ([67], ["G4"]),
    ],
)
def test_the_lowest_middle_and_highest_c_stand_for_the_compass(played, notes, expected):
    assert usual_notes(_compass(played, list(notes))) == expected


def test_notes_that_failed_are_passed_over(played):
    assert usual_notes(failed(played, [0])) == ["C#4"]
    assert usual_notes(failed(played, [0, 1])) == ["C4"]


def test_a_wrong_note_writes_nothing(played, tmp_path):
    with pytest.raises(KeyError, match="G6 is not in this result"):
        save_all(played, tmp_path / "none", notes=["C4", "G6"])
    assert not (tmp_path / "none").exists()


def test_a_folder_that_cannot_be_made_is_named(played, tmp_path):
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(OSError, match=r"taken.*cannot be written \(.+\); choose another folder"):
        save_all(played, tmp_path / "taken", notes=[])


def test_a_picture_that_cannot_be_written_leaves_nothing_behind(played, tmp_path):
    (tmp_path / "compass.png").mkdir()
    with pytest.raises(Taken, match=r"compass\.png: is a folder\nnothing was written; choose another folder"):
        save_all(played, tmp_path, notes=[])
    assert [path.name for path in tmp_path.iterdir()] == ["compass.png"]


def test_an_older_picture_is_replaced(played, tmp_path):
    save_all(played, tmp_path, notes=[])
    new = (tmp_path / "compass.png").read_bytes()
    (tmp_path / "compass.png").write_bytes(new[:600])
    save_all(played, tmp_path, notes=[])
    assert (tmp_path / "compass.png").read_bytes() == new


def test_what_is_no_picture_of_ours_is_not_replaced(played, tmp_path):
    (tmp_path / "compass.png").write_text("old")
    with pytest.raises(Taken, match=r"compass\.png: is there already and is no picture of this program"):
        save_all(played, tmp_path, notes=[])
    assert [path.name for path in tmp_path.iterdir()] == ["compass.png"]
    assert (tmp_path / "compass.png").read_text() == "old"
