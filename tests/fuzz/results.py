"""Damaged and foreign result files, comparisons and sweeps: ``python tests/fuzz/results.py --seconds 60 --seed 1``."""

from __future__ import annotations

import atexit
import json
import random
import shutil
import subprocess
import sys
import tempfile
from functools import lru_cache
from pathlib import Path
from typing import Any

import h5py
import numpy as np
from harness import Wrong, command, run
from mutations import NUMBERS, spoil_bytes, spoil_data, word
from short_case import write_case
from small_instrument import write_instrument
from small_study import write_study

from keyaction.cases.action.reader import read_case
from keyaction.cases.instrument.reader import read_instrument
from keyaction.plots.report.case import case_of
from keyaction.plots.report.report import make_report
from keyaction.plots.save import save_all
from keyaction.sim.commands.report import act as report  # noqa: F401  what the command needs is loaded before
from keyaction.sim.compare.compare import compare
from keyaction.sim.compare.store import load_comparison
from keyaction.sim.compare.variants import read_variants
from keyaction.sim.files.hdf5 import load, save
from keyaction.sim.files.instrument_result import InstrumentResult
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.files.records import MARK
from keyaction.sim.files.seal import sealed
from keyaction.sim.run.run import run as play
from keyaction.sim.run.shape import no_run
from keyaction.sim.sweep.sweep import run_study, study_result


@lru_cache(maxsize=1)
def sound() -> Path:
    """A folder with a result, a comparison and a sweep, made once."""
    folder = Path(tempfile.mkdtemp(prefix="keyaction-fuzz-sound-"))
    atexit.register(shutil.rmtree, folder, True)
    case = read_case(write_case(folder, more='\n[strokes]\nrepetition_highest = "2 Hz"\n'))
    play(case, "C4,D4", folder / "sound.h5")
    save(compare(read_variants(case.path, (), ["box.pressure=70 mmH2O,80 mmH2O"]), "C4,D4", jobs=1), _compared(folder))
    organ = read_instrument(write_instrument(folder))
    play(organ, "great/C4,II/C4:C#4", folder / "organ.h5")
    run_study(write_study(folder, 'plan = "random"\ndesigns = 24'), folder / "swept", jobs=1, judge=0)
    return folder


def _compared(folder: Path) -> Path:
    (folder / "compared").mkdir()
    return folder / "compared" / "compare.h5"


def _refused_or_same(path: Path, content: bytes, original: Path) -> None:
    """A file with one bit other than as it was written may not be read."""
    path.write_bytes(content)
    result = load(path)
    if content != original.read_bytes():
        raise Wrong("a damaged file is read as if it were sound")
    if no_run(result):
        raise Wrong("a sound file is taken for another")


def damaged(rng: random.Random, folder: Path) -> None:
    """A result file with damage, of a case or an instrument."""
    original = sound() / rng.choice(("sound.h5", "organ.h5"))
    _refused_or_same(folder / "some.h5", spoil_bytes(rng, original.read_bytes()), original)


def damaged_compared(rng: random.Random, folder: Path) -> None:
    """A comparison with damage."""
    original = (sound() / "compared" / "compare.h5").read_bytes()
    content = spoil_bytes(rng, original)
    (folder / "compare.h5").write_bytes(content)
    load_comparison(folder)
    if content != original:
        raise Wrong("a damaged file is read as if it were sound")


def damaged_sweep(rng: random.Random, folder: Path) -> None:
    """A sweep's folder in which one file is damaged."""
    shutil.copytree(sound() / "swept", folder / "swept")
    if rng.random() < 0.5:
        (folder / "swept" / "results.h5").unlink()
    chosen = rng.choice(sorted(path for path in (folder / "swept").rglob("*") if path.stat().st_size))
    if not chosen.is_file():
        chosen = folder / "swept" / "study.json"
    before = chosen.read_bytes()
    content = spoil_bytes(rng, before)
    if rng.random() < 0.05:
        chosen.unlink()
        chosen.mkdir()
    else:
        chosen.write_bytes(content)
    found = study_result(folder / "swept")
    used = chosen.name in ("study.json", "results.h5") or not (folder / "swept" / "results.h5").exists()
    torn = chosen.suffix == ".blocks" and len(content) < len(before)  # as a lost machine leaves it
    begun = chosen.suffix == ".blocks" and content.startswith(before) and MARK.startswith(content[len(before) :])
    if torn and used and content != before:
        if len(found["design"]) == 24:
            raise Wrong(f"what a torn {chosen.name} lacks is not missed")
        return
    if used and content != before and not begun:
        raise Wrong(f"a damaged {chosen.name} is read as if it were sound")
    if len(found["design"]) != 24:
        raise Wrong("designs are missing without a word")


def foreign(rng: random.Random, folder: Path) -> None:
    """Sound to the last byte, and yet not as this program lays a result out."""
    path = folder / "some.h5"
    _relaid(rng, sound() / "sound.h5", path)
    result = load(path)
    if told := no_run(result):
        raise FileProblem(f"{path}: {told}")
    if rng.random() < 0.05:
        save_all(result, folder / "pictures", [result.notes[0]])
    if rng.random() < 0.05:
        make_report(result)


def foreign_shown(rng: random.Random, folder: Path) -> None:
    """The same through the command line."""
    path = folder / "some.h5"
    original = sound() / rng.choice(("sound.h5", "sound.h5", "organ.h5"))
    _relaid(rng, original, path)
    command("show", path, *rng.choice(([], ["--note", "C4"], ["--about"], ["--note", "D4", "--about"])))


def foreign_tree(rng: random.Random, folder: Path) -> None:
    """The same of an instrument, in memory."""
    path = folder / "some.h5"
    _relaid(rng, sound() / "organ.h5", path)
    result = load(path)
    if told := no_run(result):
        raise FileProblem(f"{path}: {told}")
    for one in result.values() if isinstance(result, InstrumentResult) else [result]:
        case_of(one)
        if rng.random() < 0.02:
            make_report(one)


def foreign_compared(rng: random.Random, folder: Path) -> None:
    """A comparison laid out otherwise, joined to a sound result."""
    _relaid(rng, sound() / "compared" / "compare.h5", folder / "compare.h5")
    found = load_comparison(folder)
    if rng.random() < 0.05:
        make_report(load(sound() / "sound.h5"), found)


def manifests(rng: random.Random, folder: Path) -> None:
    """A manifest whose data somebody has changed: the sweep resumed by the command, or shown."""
    shutil.copytree(sound(), folder / "all")
    path = folder / "all" / "swept" / "study.json"
    before = json.loads(path.read_text("utf-8"))
    data = spoil_data(rng, before)
    path.write_text(json.dumps(data, indent=1, ensure_ascii=False), "utf-8", "surrogatepass")
    if rng.random() < 0.5:
        (folder / "all" / "swept" / "results.h5").unlink()
    if rng.random() < 0.5:
        command("sweep", folder / "all" / "small.toml", "--out", path.parent, "--resume", "--judge", 0, "--jobs", 1)
    else:
        study_result(path.parent)
    if repr(data) != repr(before):
        raise Wrong("a changed manifest is read as if it were sound")


def _relaid(rng: random.Random, original: Path, path: Path) -> None:
    """A copy in which variables and texts are of other kinds, lengths, names or gone, sealed anew."""
    shutil.copy(original, path)
    with h5py.File(path, "a") as file:
        for _ in range(rng.choice((1, 1, 1, 2, 4))):
            group: Any = file if rng.random() < 0.75 else file.get("about", file)
            if "great" in file and rng.random() < 0.8:  # an instrument's: into one of its divisions
                group = file.get(rng.choice(("great", "II")), file)
                group = group if rng.random() < 0.75 or not isinstance(group, h5py.Group) else group.get("about", group)
            names = list(group) if isinstance(group, h5py.Group) else []
            if not names:
                break
            name, kind = rng.choice(names), rng.randrange(8)
            if kind == 0:
                del group[name]
            elif kind == 1:
                _put(group, name, rng.choice((np.zeros(3), np.zeros((2, 2)), 1.0, "text", np.zeros(0), b"\xff")))
            elif kind == 2:
                _put(group, name, word(rng).replace("\0", "").encode("utf-8", "replace"))
            elif kind == 3:
                group.move(name, f"{name}x")
            elif kind == 4 and isinstance(group[name], h5py.Dataset) and group[name].dtype.kind == "f":
                with np.errstate(all="ignore"):
                    group[name][...] = np.asarray(rng.choice(NUMBERS), dtype=group[name].dtype)
            elif kind == 5:
                for key in [key for key in group[name].attrs if key in ("units", "long_name", "definition")]:
                    group[name].attrs[key] = rng.choice(("", "x", 1.0, b"\xff", np.zeros(2), "furlong", "\x1b[31m"))
            elif kind == 6 and isinstance(group[name], h5py.Dataset) and group[name].dtype.kind == "O":
                text = word(rng).replace("\0", "").encode("utf-8", "replace").decode()
                group[name][...] = text
            else:
                file.attrs[rng.choice(("format", "content", "other"))] = rng.choice((1, 2, 3, 4, "x", 2.5, np.zeros(2)))
    path.write_bytes(sealed(path.read_bytes()))


def _put(group: Any, name: str, value: Any) -> None:
    del group[name]
    group[name] = value


def by_command(rng: random.Random, folder: Path) -> None:
    """Damaged files given to the program itself, in a process of its own."""
    kind = rng.randrange(4)
    name = "compare.h5" if kind == 3 else "some.h5"
    original = sound() / ("compared/compare.h5" if kind == 3 else "sound.h5")
    (folder / name).write_bytes(spoil_bytes(rng, original.read_bytes()))
    shutil.copy(sound() / "sound.h5", folder / "sound.h5")
    words = {
        0: ["show", "some.h5"],
        1: ["show", "some.h5", "--note", "C4", "--plots", "pictures"],
        2: ["report", "some.h5", "--out", "page"],
        3: ["report", "sound.h5", "--compare", ".", "--out", "page"],
    }[kind]
    same = (folder / name).read_bytes() == original.read_bytes()
    done = subprocess.run([sys.executable, "-m", "keyaction", *words], capture_output=True, text=True, cwd=folder)
    if done.returncode != (0 if same else 2) or "Traceback" in done.stderr or len(done.stderr.splitlines()) > 1:
        raise Wrong(f"{words}: status {done.returncode}: {done.stderr[-400:]}")
    if not same:
        raise FileProblem(done.stderr)


KINDS = {
    "damaged": damaged,
    "damaged-compared": damaged_compared,
    "damaged-sweep": damaged_sweep,
    "foreign": foreign,
    "foreign-shown": foreign_shown,
    "foreign-tree": foreign_tree,
    "foreign-compared": foreign_compared,
    "manifests": manifests,
    "by-command": by_command,
}

if __name__ == "__main__":
    raise SystemExit(run(KINDS))
