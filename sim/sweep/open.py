"""Reading the folder of a sweep."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from keyaction.sim.files.begun import read_manifest
from keyaction.sim.files.hdf5 import read_result, readable
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.files.seal import check_seal
from keyaction.sim.sweep.folder import PARTIAL, RESULTS, SWEEP
from keyaction.sim.sweep.results import assemble

if TYPE_CHECKING:
    import xarray


def dataset_path(folder: str | Path) -> Path:
    """The dataset of a sweep; of one that is not finished, what there is is put together into ``partial.h5``.

    Raises
    ------
    FileProblem
        When there is no sweep, nothing of it is finished yet, or one of its files is damaged.
    """
    folder = Path(folder)
    data = read_manifest(folder, SWEEP)
    if _current(folder / RESULTS, data):
        return folder / RESULTS
    assemble(folder, data, folder / PARTIAL)
    return folder / PARTIAL


def _current(path: Path, data: Mapping[str, Any]) -> bool:
    """Whether a file is the whole dataset of the sweep as its manifest has it now.

    Raises
    ------
    Unreadable
        When it is there and damaged.
    """
    if not path.exists():
        return False
    advice = "put it together again: give the command of the sweep with --resume"
    check_seal(path, f"damaged or cut short: its checksum is missing; {advice}", advice)
    with readable(path) as file:
        told = {name: file["about"][name].asstr()[()] for name in ("fingerprint", "designs", "complete")}
    return bool(told == {"fingerprint": data["key"], "designs": str(data["designs"]), "complete": "true"})


def _words(path: Path) -> dict[str, np.ndarray[Any, Any]]:
    """The texts behind the numbers of each variable that has them."""
    with readable(path) as file:
        return {
            name: np.array(list(file[name].attrs["meanings"]), dtype=object)
            for name in file
            if "meanings" in file[name].attrs
        }


def study_result(folder: str | Path) -> Result:
    """The dataset of a sweep in memory, texts in place of numbers of texts.

    Raises
    ------
    FileProblem
        When there is no sweep, nothing of it is finished yet, or one of its files is damaged.
    """
    path = dataset_path(folder)
    result, variables = read_result(path), dict[str, Any]()
    for name, words in _words(path).items():
        one = result.variables[name]
        variables[name] = replace(one, data=words[one.data])
    return Result({**result.variables, **variables}, result.about)


def study_on_disk(folder: str | Path) -> Result:
    """The dataset of a sweep as `study_result` gives it, whose columns stay on the disk until they are read.

    Raises
    ------
    FileProblem
        When there is no sweep, nothing of it is finished yet, or one of its files is damaged.
    """
    return read_result(dataset_path(folder), on_disk=True)


def open_study(folder: str | Path) -> xarray.Dataset:
    """The dataset of a sweep as an xarray Dataset with axes ``design`` and ``note``.

    Figures are read when they are used; the study, the case and the versions are in its attributes. Of a sweep that
    is not finished, the finished designs are there (``attrs["complete"]`` is then "false").

    Parameters
    ----------
    folder : path
        The folder that `run_study` or ``keyaction sweep`` wrote.

    Returns
    -------
    xarray.Dataset

    Raises
    ------
    keyaction.FileProblem
        When there is no sweep, nothing of it is finished yet, one of its files is damaged, or xarray is not
        installed.

    Examples
    --------
    >>> from pathlib import Path
    >>> import keyaction as ka
    >>> text = '''
    ... format = 1
    ... [study]
    ... case = "demo-wood"
    ... notes = "C4"
    ... quantities = ["pluck_point"]
    ... plan = "grid"
    ... [[vary]]
    ... field = "roller.width"
    ... values = ["20 mm", "24 mm"]
    ... '''
    >>> _ = Path("widths.toml").write_text(text)
    >>> _ = ka.run_study("widths.toml", "swept", jobs=1, judge=0)
    >>> data = ka.open_study("swept")
    >>> data.pluck_point.dims, data.pluck_point.attrs["units"]
    (('design', 'note'), 'm')
    """
    try:
        import xarray
    except ImportError:
        raise FileProblem('xarray is needed for this: pip install "keyaction[xarray]"') from None
    path = dataset_path(folder)
    found = xarray.open_dataset(path, engine="h5netcdf")
    for name, words in _words(path).items():
        attributes = {key: value for key, value in found[name].attrs.items() if key not in ("meanings", "units")}
        found[name] = (found[name].dims, words[found[name].values], attributes)
    with readable(path) as file:
        found.attrs.update({name: file["about"][name].asstr()[()] for name in file["about"]})
    return found
