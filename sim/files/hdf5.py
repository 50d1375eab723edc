"""Result files: HDF5 with labelled axes, written whole or not at all."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import h5py
import numpy as np

from keyaction.sim.files.instrument_result import InstrumentResult
from keyaction.sim.files.labelled import Result, Variable
from keyaction.sim.files.on_disk import OnDisk
from keyaction.sim.files.problem import FileProblem, Unreadable, other_format, unread, unwritten
from keyaction.sim.files.replace import replacing
from keyaction.sim.files.seal import check_seal, sealed
from keyaction.sim.files.taken import CONTENT, RESULT, refuse_taken

FORMAT = 3
"""Version of the layout of the file."""
_FOREIGN = (
    "not a result file of this program as it wrote it: there is no checksum at its end, so it is cut short, changed, "
    "of another program, or of an earlier version of this one; make it anew with: keyaction run CASE --out FILE"
)
_AGAIN = "make it anew with: keyaction run CASE --out FILE"
_TEXT = h5py.string_dtype("utf-8")
_DIVISIONS = "divisions"
"""Attribute of an instrument's file: the groups of its divisions, in order."""


def _write(file: Any, result: Result | InstrumentResult) -> None:
    file.attrs["format"] = FORMAT
    file.attrs["content"] = CONTENT
    if isinstance(result, Result):
        _write_result(file, result)
        return
    file.attrs.create(_DIVISIONS, list(result), dtype=_TEXT)
    _write_about(file, result.about)
    for name, one in result.items():
        _write_result(file.create_group(name), one)


def _write_about(group: Any, about: Mapping[str, str]) -> None:
    for name, text in about.items():
        group.create_dataset(f"about/{name}", data=text, dtype=_TEXT)


def _write_result(file: Any, result: Result) -> None:
    """A result into a file, or into a group of one."""
    _write_about(file, result.about)
    for name, variable in result.variables.items():
        is_text = variable.data.dtype == object
        big = variable.data.ndim > 1 and not is_text
        options: dict[str, Any] = (
            {"compression": "gzip", "compression_opts": 4, "shuffle": True} if big and variable.data.size else {}
        )
        data = variable.data.astype(_TEXT) if is_text else variable.data
        made = file.create_dataset(name, data=data, **options)
        made.attrs["long_name"] = variable.label
        if not is_text:
            made.attrs["units"] = variable.unit or "1"
        if variable.definition:
            made.attrs["definition"] = variable.definition
    for name, variable in result.variables.items():
        if variable.dims == (name,):
            file[name].make_scale(name)
    for name, variable in result.variables.items():
        for axis, dim in enumerate(variable.dims):
            if dim != name:
                file[name].dims[axis].attach_scale(file[dim])


def _image(result: Result | InstrumentResult) -> bytes:
    """The file's bytes, made in memory: the HDF5 library crashes when a disk fills up under it."""
    with h5py.File("result", "w", driver="core", backing_store=False) as file:
        _write(file, result)
        file.flush()
        return bytes(file.id.get_file_image())


def save(result: Result | InstrumentResult, path: str | Path) -> None:
    """Write a result as HDF5 with labelled axes, whole or not at all; xarray opens it as it is.

    That of an instrument has a group for each division and opens as a tree (``xarray.open_datatree``). A checksum
    stands behind the HDF5 file's own end, so that `load` tells a damaged file from a sound one.

    Parameters
    ----------
    result : Result or InstrumentResult
    path : str or Path
        An older result file of that name is replaced, nothing else is; of a symlink, what it leads to.

    Returns
    -------
    None

    Raises
    ------
    keyaction.FileProblem
        When the file cannot be written, or something that is no result file has its name; nothing is left behind
        and an older file stays as it was.

    Examples
    --------
    >>> import keyaction as ka
    >>> ka.save(ka.evaluate("demo-wood", "C4", [{}], ["key_dip"], sample=0), "some.h5")
    >>> ka.load("some.h5").notes
    ['C4']
    """
    refuse_taken(Path(path), RESULT)
    try:
        image = _image(result)
    except ValueError as problem:
        raise FileProblem(f"{path}: this result cannot be written ({problem})") from problem
    try:
        with replacing(Path(path)) as temporary:
            temporary.write_bytes(sealed(image))
    except OSError as problem:
        raise unwritten(path, problem, "choose another place with --out") from problem


def load(path: str | Path) -> Result | InstrumentResult:
    """Read a result file that `run`, `save` or the command ``run`` wrote.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Result or InstrumentResult
        The latter of an instrument: a mapping from each division to its `Result`.

    Raises
    ------
    keyaction.FileProblem
        When it is missing, damaged, no result of this program, or of another format.

    Examples
    --------
    >>> import keyaction as ka
    >>> try:
    ...     ka.load("missing.h5")
    ... except ka.FileProblem as problem:
    ...     print(problem)
    missing.h5: no such file; make it with: keyaction run CASE --out missing.h5
    """
    path = Path(path)
    try:
        found = path.is_file()
    except OSError as problem:
        raise unread(path, problem) from problem
    if path.is_dir():
        raise Unreadable(f"{path}: is a folder; name the result file (the folder of a sweep: keyaction sweep show DIR)")
    if not found:
        there = "is no plain file" if path.exists() else "no such file"
        raise Unreadable(f"{path}: {there}; make it with: keyaction run CASE --out {path.name}")
    check_seal(path, _FOREIGN, _AGAIN)
    with readable(path) as file:
        _refuse_other(file, path)
        if _DIVISIONS not in file.attrs:
            return _read(file, path, False)
        divisions = {str(name): _read(file[str(name)], path, False) for name in file.attrs[_DIVISIONS]}
        return InstrumentResult(divisions, _about(file))


def read_result(path: Path, on_disk: bool = False) -> Result:
    """Read a result file whose seal was found whole.

    Parameters
    ----------
    path : Path
    on_disk : bool
        Whether arrays that lie in one piece stay on the disk (`OnDisk`), with the texts that their numbers stand for.

    Raises
    ------
    Unreadable
        When it is no result of this program, or of another format.
    """
    with readable(path) as file:
        _refuse_other(file, path)
        return _read(file, path, on_disk)


@contextmanager
def readable(path: Path) -> Iterator[Any]:
    """A file whose seal was found whole, open; whatever in it is not as this program makes it is one sentence."""
    try:
        with h5py.File(path, "r") as file:
            yield file
    except (OSError, KeyError, ValueError, TypeError, IndexError, AttributeError, RuntimeError) as problem:
        if isinstance(problem, Unreadable):
            raise
        told = str(problem).split("\n")[0]
        raise Unreadable(f"{path}: not laid out as a result of this program ({told})") from problem


def _refuse_other(file: Any, path: Path) -> None:
    if "format" not in file.attrs or "about" not in file:
        raise Unreadable(f"{path}: an HDF5 file, but not a result of this program")
    if int(file.attrs["format"]) != FORMAT:
        raise other_format(path, int(file.attrs["format"]), FORMAT, "Make the result anew")


def _about(group: Any) -> dict[str, str]:
    return {name: group["about"][name].asstr()[()] for name in group["about"]}


def _read(file: Any, path: Path, on_disk: bool) -> Result:
    """The result in a file, or in a group of one."""
    scales = {name for name in file if isinstance(file[name], h5py.Dataset) and file[name].is_scale}
    variables = {
        name: _variable(file[name], name, name in scales, path if on_disk else None)
        for name in file
        if isinstance(file[name], h5py.Dataset)
    }
    for name, one in variables.items():
        lengths = tuple(variables[dim].data.size if dim in variables else -1 for dim in one.dims)
        if lengths != one.data.shape:
            raise Unreadable(f"{path}: not laid out as a result of this program (axes of '{name}')")
    return Result(variables, _about(file))


def _variable(dataset: Any, name: str, scale: bool, path: Path | None) -> Variable:
    dims = (name,) if scale else tuple(dim[0].name.rpartition("/")[2] for dim in dataset.dims)
    unit = str(dataset.attrs.get("units", ""))
    return Variable(
        dims,
        _data(dataset, path),
        "" if unit == "1" else unit,
        str(dataset.attrs.get("long_name", "")),
        str(dataset.attrs.get("definition", "")),
    )


def _data(dataset: Any, path: Path | None) -> Any:
    """The array; where a path is given and the array lies in one piece there, a reader of it."""
    if h5py.check_string_dtype(dataset.dtype) is not None:
        return np.asarray(dataset.asstr()[()], dtype=object)
    offset = dataset.id.get_offset()
    if path is None or offset is None:
        return dataset[()]
    texts = dataset.attrs.get("meanings")
    names = None if texts is None else np.array([str(text) for text in texts], dtype=object)
    return OnDisk(path, int(offset), dataset.dtype, dataset.shape, names)
