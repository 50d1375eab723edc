"""Plain data and arrays kept in one sealed file, so that long work can be taken up again."""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.files.replace import replacing
from keyaction.sim.files.seal import read_sealed, seal

Arrays = dict[str, NDArray[Any]]
_PLAIN = "plain"


def keep(path: Path, plain: Mapping[str, Any], arrays: Mapping[str, Any]) -> None:
    """Write plain data and arrays, whole or not at all.

    Raises
    ------
    OSError
        When the disk is full or the folder is gone; an older file stays as it was.
    """
    with replacing(path) as temporary, temporary.open("w+b") as file:
        np.savez(file, **{_PLAIN: np.array(json.dumps(plain)), **arrays})
        seal(file)


def kept(path: Path, advice: str) -> tuple[dict[str, Any], Arrays] | None:
    """What `keep` wrote; None if there is no such file.

    Parameters
    ----------
    path : Path
    advice : str
        What to do about a damaged file.

    Raises
    ------
    Unreadable
        If the file is damaged or something else.
    """
    if not path.exists():
        return None
    content = read_sealed(path, f"damaged or cut short: its checksum is missing; {advice}", advice)
    with np.load(io.BytesIO(content), allow_pickle=False) as file:
        found = {name: file[name] for name in file.files}
    return json.loads(str(found.pop(_PLAIN))), found
