"""Real results to draw: two notes of the shipped case, and one note of a train of another shape."""

import pytest
from figure_checks import failed, never_plucking

from keyaction.cases.action.reader import read_case
from keyaction.cases.text.find import find_case
from keyaction.sim.run.run import run

_OTHER = {
    'title = "Invented manual, 56 notes, wooden trackers"': 'title = "Costs $5 & <more>, a title so long that'
    + " it goes on" * 12
    + '"',
    'part = "tracker"\nname = "riser"': 'part = "sticker"\nname = "sticker-from-the-tail"',
    'part = "square"\nname = "lower-square"': 'part = "backfall"\nname = "long-backfall-under-the-floor"',
    'name = "level-tracker"\n': 'name = "level-tracker"\npieces = 3\n',
}


@pytest.fixture(scope="session")
def played():
    """Two neighbouring notes of the shipped case."""
    return run(read_case("demo-wood"), "C4,C#4")


@pytest.fixture(scope="session")
def other(tmp_path_factory):
    """One note of a train with a sticker, a long-named backfall, a rod in pieces, and a title with odd signs."""
    source = find_case("demo-wood")
    text = source.read_text(encoding="utf-8")
    for old, new in _OTHER.items():
        assert old in text
        text = text.replace(old, new)
    folder = tmp_path_factory.mktemp("other")
    (folder / "demo-chest.csv").write_bytes((source.parent / "demo-chest.csv").read_bytes())
    (folder / "other.toml").write_text(text, encoding="utf-8")
    return run(read_case(folder / "other.toml"), "C4")


@pytest.fixture(scope="session")
def one_failed(played):
    """The same two notes, the upper of which could not be played."""
    return failed(played, [1])


@pytest.fixture(scope="session")
def silent(played):
    """The same two notes, the lower of which never plucks."""
    return never_plucking(played, 0)
