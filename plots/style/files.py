"""Pictures as files."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from matplotlib.figure import Figure

from keyaction.plots.style.page import DPI
from keyaction.sim.files.problem import FileProblem, reason
from keyaction.sim.files.replace import replacing
from keyaction.sim.files.taken import PICTURE, refuse_foreign

Draw = Callable[[], Figure]
Progress = Callable[[Path, int, int], None]
"""Told of every picture that is written: its file, how many are done, out of how many."""


class UnwrittenPicture(OSError, FileProblem):
    """A folder or a picture that cannot be written."""


def write_pictures(folder: Path, drawings: Sequence[tuple[str, Draw]], progress: Progress | None = None) -> list[Path]:
    """Draw pictures and write them as PNG files into a folder, each whole or not at all.

    Parameters
    ----------
    folder : Path
        Made if it is not there; pictures of the same name are replaced, other files are not.
    drawings : sequence of (str, callable)
        File names with what draws them.
    progress : callable, optional
        Called after every picture.

    Returns
    -------
    list of Path

    Raises
    ------
    UnwrittenPicture
        If the folder or a picture cannot be written; the message names it.
    Taken
        If files that are no pictures of this program have their names; nothing is then written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        raise _refused(folder, problem) from problem
    refuse_foreign((Path(name) for name, _ in drawings), folder, lambda _: PICTURE)
    written: list[Path] = []
    for name, draw in drawings:
        path, figure = folder / name, draw()
        try:
            with replacing(path) as temporary:
                figure.savefig(temporary, format="png", dpi=DPI)
        except OSError as problem:
            raise _refused(path, problem) from problem
        written.append(path)
        if progress:
            progress(path, len(written), len(drawings))
    return written


def _refused(path: Path, problem: OSError) -> UnwrittenPicture:
    return UnwrittenPicture(f"{path}: pictures cannot be written ({reason(problem)}); choose another folder")
