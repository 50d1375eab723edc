"""Where generated code is kept: every text is checked before it is run, and what cannot be kept is done without."""

from __future__ import annotations

import atexit
import hashlib
import os
import shutil
import sys
import tempfile
import warnings
from collections.abc import Callable
from contextlib import suppress
from functools import lru_cache
from multiprocessing import parent_process
from pathlib import Path
from types import ModuleType

from keyaction.sim.files.problem import reason
from keyaction.sim.files.replace import usual_mode

CACHE = "KEYACTION_CACHE"
"""Environment variable: where generated code is kept."""


class CacheNotice(UserWarning):
    """What befell the cache of generated code; the work goes on."""


def say(text: str) -> None:
    """Tell it once, and by the first process only."""
    if parent_process() is None:
        warnings.warn(text, CacheNotice, stacklevel=2)


def cache_folder() -> Path:
    """Where generated modules are kept: `KEYACTION_CACHE`, else the user's cache folder, else a temporary one."""
    if os.environ.get(CACHE):
        folder = Path(os.environ[CACHE])
    else:
        base = os.environ.get("XDG_CACHE_HOME") or (Path.home() / ".cache")
        folder = Path(base) / "keyaction"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe, name = tempfile.mkstemp(dir=folder)
        os.close(probe)
        Path(name).unlink()
    except (OSError, ValueError) as problem:
        return _done_without(folder, problem)
    return folder


def _done_without(folder: Path, problem: OSError | ValueError) -> Path:
    """A temporary folder in its place, for this process and those that it starts."""
    say(
        f"generated code cannot be kept in {folder} ({reason(problem)}): it is made anew this time; "
        f"{CACHE} names another folder"
    )
    try:
        made = temporary_folder()
    except OSError:
        return folder
    os.environ[CACHE] = str(made)
    return made


@lru_cache(maxsize=1)
def temporary_folder() -> Path:
    """A folder of this process, that goes with it."""
    made, maker = Path(tempfile.mkdtemp(prefix="keyaction-")), os.getpid()

    def remove() -> None:
        if os.getpid() == maker:
            shutil.rmtree(made, ignore_errors=True)

    atexit.register(remove)
    return made


def kept_text(name: str, write: Callable[[], str]) -> tuple[Path, str]:
    """The text of a generated module and where it is kept; one that is not there, or not as it was written, is made.

    Where not even a temporary folder takes it, it is not kept.

    Parameters
    ----------
    name : str
        Of the file.
    write : callable
        Gives the text.
    """
    folder = cache_folder()
    found = _whole(folder / name)
    if found is not None:
        return folder / name, found
    text = _signed(write())
    try:
        _put(folder / name, text)
    except OSError as problem:
        folder = _done_without(folder, problem)
        with suppress(OSError):
            _put(folder / name, text)
    return folder / name, text


def _put(path: Path, text: str) -> None:
    """Write a module under a temporary name and put it into its place."""
    handle, name = tempfile.mkstemp(dir=path.parent, suffix=".tmp")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        usual_mode(temporary)
        if _whole(path) is None:  # one that another process put there meanwhile has compiled code beside it
            temporary.replace(path)
    finally:
        temporary.unlink(missing_ok=True)


def _signed(text: str) -> str:
    """The text with a last line by which damage to it is seen."""
    text = text.rstrip("\n") + "\n"
    return f"{text}# {hashlib.sha256(text.encode()).hexdigest()}\n"


def _whole(path: Path) -> str | None:
    """A generated module's text as it was written; None if it is not there, or a full disk or a fault left another."""
    try:
        content = path.read_bytes()
    except OSError:
        return None
    text, _, mark = content.rstrip(b"\n").rpartition(b"\n")
    if mark != b"# " + hashlib.sha256(text + b"\n").hexdigest().encode():
        say(f"{path}: damaged code in the cache is written anew")
        return None
    return content.decode("utf-8")


def module_of(path: Path, text: str, name: str) -> ModuleType:
    """A generated module under a name of its own, run from the text that was checked and from no other file.

    Python's own copies of compiled modules are passed by: nothing tells whether they are whole.
    """
    module = ModuleType(name)
    module.__file__ = str(path)
    vars(module)["__text__"] = text
    sys.modules[name] = module
    exec(compile(text, str(path), "exec"), vars(module))
    return module
