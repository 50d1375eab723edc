"""Functions compiled by Numba, their machine code kept beside their module with a seal that is checked before use."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from numba import njit
from numba.core.caching import FunctionCache, IndexDataCacheFile

from keyaction.sim.code.cache import say
from keyaction.sim.files.problem import Unreadable, reason
from keyaction.sim.files.seal import check_seal, sealed


def compiled(function: Any, **options: Any) -> Callable[..., Any]:
    """A function compiled when it is first called, or taken from where its code was kept.

    Parameters
    ----------
    function : function
        Of a module that lies in the cache.
    **options
        Of Numba's ``njit``.
    """
    made = njit(error_model="numpy", **options)(function)
    with suppress(OSError, RuntimeError):  # the latter where the module could not be kept
        made._cache = _Cache(made.py_func)
    return made  # type: ignore[no-any-return]


class _Cache(FunctionCache):
    """Numba's own, with files that are sealed; a disk that takes none of them is no reason to stop."""

    def __init__(self, function: Any) -> None:
        usual: Any = super()
        usual.__init__(function)
        files: Any = _Files
        self._cache_file = files(self._cache_path, self._impl.filename_base, self._impl.locator.get_source_stamp())

    def save_overload(self, sig: Any, data: Any) -> None:
        usual: Any = super()
        try:
            usual.save_overload(sig, data)
        except OSError as problem:
            say(f"compiled code cannot be kept in {self._cache_path} ({reason(problem)})")


class _Files(IndexDataCacheFile):
    def _load_index(self) -> Any:
        usual: Any = super()
        return usual._load_index() if _sound(self._index_path) else {}

    def _load_data(self, name: str) -> Any:
        usual: Any = super()
        if not _sound(usual._data_path(name)):
            raise FileNotFoundError(name)  # which is what a lost file looks like: it is compiled and kept again
        return usual._load_data(name)

    @contextmanager
    def _open_for_write(self, filepath: str) -> Iterator[Any]:
        content = io.BytesIO()
        usual: Any = super()
        yield content
        with usual._open_for_write(filepath) as file:
            file.write(sealed(content.getvalue()))


def _sound(path: str) -> bool:
    """Whether a file is as it was written; damaged machine code would end the process."""
    if not Path(path).exists():
        return False
    try:
        check_seal(Path(path), "", "")
    except Unreadable:
        say(f"{path}: damaged code in the cache is compiled anew")
        return False
    return True
