"""Sweeps: every design of a study, resumable, on the processes of one machine or on a cluster."""

from __future__ import annotations

import shlex
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.study.find import shipped_studies
from keyaction.cases.study.reader import Study, read_study
from keyaction.cases.text.defects import CaseProblem, Defect
from keyaction.cases.text.near import hint
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.files.begun import Refused, look
from keyaction.sim.lanes.evaluate import Doubt, available
from keyaction.sim.processes.count import workers
from keyaction.sim.sweep import dask_cluster as sweep_dask
from keyaction.sim.sweep.blocks import Block, BlockResult, Cut, Task
from keyaction.sim.sweep.designs import Recipe, dead_choices, recipe_of
from keyaction.sim.sweep.devices import on_devices
from keyaction.sim.sweep.folder import RESULTS, SWEEP, StudyFolder
from keyaction.sim.sweep.forecast import Forecast, forecast
from keyaction.sim.sweep.keeping import Keeper
from keyaction.sim.sweep.kept_blocks import Told, newest
from keyaction.sim.sweep.manifest import compare, manifest, plan_of
from keyaction.sim.sweep.open import open_study, study_result
from keyaction.sim.sweep.plans import Plan
from keyaction.sim.sweep.pool import need_device, on_this_machine
from keyaction.sim.sweep.results import assemble, blocks_of, judged

if TYPE_CHECKING:
    import xarray

__all__ = [
    "Forecast",
    "Refused",
    "State",
    "Swept",
    "forecast",
    "load_study",
    "open_study",
    "run_study",
    "study_result",
]

MOST = 1_000_000_000
"""Designs times notes that a study may have."""


@dataclass(frozen=True)
class State:
    """How far a sweep is; designs are counted note by note."""

    done: int
    total: int
    kept: int
    failed: int
    seconds: float

    @property
    def rate(self) -> float:
        """Designs per second, those not counted that were kept from earlier."""
        return (self.done - self.kept) / self.seconds if self.seconds > 0 else 0.0

    @property
    def left(self) -> float:
        """Seconds to go at this rate; NaN as long as there is none."""
        return (self.total - self.done) / self.rate if self.rate > 0 else float("nan")


Progress = Callable[[State], None]


@dataclass(frozen=True)
class Swept:
    """A finished sweep.

    Attributes
    ----------
    path : Path
        The dataset.
    counts : dict
        Designs, note by note, by the first word of their status: ``ok``, ``impossible``, ``failed``, ``lost``.
    reasons : list of (str, int)
        Why designs have no figures, the most frequent first.
    judged : dict
        What SciPy says of its sample: ``compared``, ``worst``, ``quantity``, ``allowed``, ``beyond``;
        how many designs were ``doubtful``, and of these ``sensitive``; ``doubt``, what became of them.
    seconds : float
        How long it took.

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
    >>> swept = ka.run_study("widths.toml", "swept", jobs=1, judge=1)
    >>> swept.counts, swept.judged["compared"], swept.judged["beyond"]
    ({'ok': 2}, 1, 0)
    """

    path: Path
    counts: Mapping[str, int]
    reasons: list[tuple[str, int]]
    judged: Mapping[str, Any]
    seconds: float

    def open(self) -> xarray.Dataset:
        """The dataset, lazily."""
        return open_study(self.path.parent)


def load_study(path_or_name: str | Path) -> Study:
    """Read a study file, or a study that ships with the program.

    Raises
    ------
    keyaction.cases.text.defects.CaseProblem
        With every defect of the study and its case.
    """
    study = read_study(path_or_name, available())
    count = plan_of(study).count * len(study.notes)
    if count > MOST:
        message = f"makes {count:.3g} designs over the notes; at most {MOST:.0e} are allowed"
        raise CaseProblem(study.path, [Defect(study.path.name, "[study]", "", "", message)])
    if dead := list(dead_choices(study)):
        told = [Defect(study.path.name, f"[[vary]] {one.name}", choice, "", why) for one, choice, why in dead]
        raise CaseProblem(study.path, told)
    return study


def run_study(
    study: Study | str | Path,
    out: str | Path,
    jobs: int = 0,
    cluster: str | None = None,
    resume: bool = False,
    judge: int | None = None,
    progress: Progress | None = None,
    device: str = "cpu",
    doubt: Doubt = "decide",
) -> Swept:
    """Compute every design of a study.

    Parameters
    ----------
    study : Study, path or name
        A study file, or one that ships with the program.
    out : path
        A folder: new, empty, or begun by this study and then with `resume`.
    jobs : int
        Processes; 0 means one per core. A script that uses more than one keeps its calls under
        ``if __name__ == "__main__":``, as Python's multiprocessing demands.
    cluster : str, optional
        Address of a running Dask scheduler, whose workers then compute in place of local processes.
    resume : bool
        Go on in a folder that was begun; only missing blocks are computed.
    judge : int, optional
        Designs that SciPy judges, spread over the study; by default 5, and more of a large study: a sixth of the square
        root of its designs.
    progress : callable, optional
        Called with a `State` at the start and after every block, on a device after those that were played together.
    device : {"cpu", "gpu"}
        Where presses and motions are computed. On the GPUs of this machine, or of the cluster's workers, which need
        CuPy (extra ``gpu``), figures are those of the processor within 1e-9 of themselves. What SciPy decides, and
        the few presses that a GPU cannot follow, stay with the processor.
    doubt : {"decide", "mark"}
        Whether SciPy decides designs in doubt (a second or so each), or they keep the figures of the finest steps and
        are marked as sensitive.

    Returns
    -------
    Swept
        Where the dataset is (``results.h5`` in the folder) and what came of the designs.

    Raises
    ------
    keyaction.CaseProblem
        When the study is wrong.
    keyaction.sim.sweep.sweep.Refused
        When the folder or the cluster cannot be used, or a worker of it lacks the device; nothing is written.
    keyaction.FileProblem
        When the disk is full, the scheduler is gone, or a worker joins that is not like the others; what was finished
        is kept.
    keyaction.sim.processes.tasks.NoProcesses
        When every process dies at once.
    keyaction.sim.code.no_numba.NoNumba
        When Numba cannot be used; nothing is written.
    keyaction.sim.code.no_gpu.NoGpu
        When the GPU cannot be used; nothing is written.
    ValueError
        When `jobs` or `judge` is below 0, or `doubt` none of its words; `TypeError` when `jobs` is no whole number.

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
    >>> swept = ka.run_study("widths.toml", "swept", jobs=1, judge=0)
    >>> swept.path.name, swept.counts
    ('results.h5', {'ok': 2})
    """
    workers(jobs)
    _known("doubt", doubt, get_args(Doubt))
    if judge is not None and judge < 0:
        raise ValueError(f"judge = {judge}: 0 (none) or more")
    study = study if isinstance(study, Study) else load_study(study)
    need_numba()
    if cluster is None:
        need_device(device)
    folder, recipe = Path(out), replace(recipe_of(study), device=device, doubt=doubt)
    data = manifest(study, recipe, judge)
    _may_begin(folder, data, resume)
    client = sweep_dask.connect(cluster, device) if cluster is not None else None
    try:
        held = StudyFolder(folder, resume_command(study, folder, cluster, device, doubt))
        try:
            data = _begin(held, data, resume)
            return _compute(held, data, recipe, plan_of(study), client, jobs, progress)
        finally:
            held.release()
    finally:
        if client is not None:
            sweep_dask.close(client)


def _known(name: str, value: str, known: Sequence[str]) -> None:
    if value not in known:
        raise ValueError(f"{name} = {value!r}: one of {', '.join(known)}{hint(value, known)}")


def resume_command(
    study: Study, folder: Path, cluster: str | None = None, device: str = "cpu", doubt: Doubt = "decide"
) -> str:
    """How a sweep is taken up again."""
    name = study.path.stem if study.path in shipped_studies().values() else study.path
    where = ["--cluster", cluster] if cluster is not None else []
    where += ["--device", device] if device != "cpu" else []
    where += ["--doubt", doubt] if doubt != "decide" else []
    return shlex.join(["keyaction", "sweep", str(name), "--out", str(folder), *where, "--resume"])


def _may_begin(folder: Path, data: Mapping[str, Any], resume: bool) -> dict[str, Any] | None:
    """The manifest that is there, if any, after asking whether the study may go on with it."""
    old = look(folder, SWEEP)
    if old is None:
        return None
    compare(old, data, str(folder))
    if not resume:
        raise Refused(f"{folder}: this study was begun there already; add --resume to go on, or choose another folder")
    return old


def _begin(held: StudyFolder, data: dict[str, Any], resume: bool) -> dict[str, Any]:
    """Write the manifest, now that nobody else can; the moment of the first beginning stays in it."""
    old = _may_begin(held.path, data, resume)
    if old is not None:
        data["about"]["made"] = old["about"]["made"]
    held.begin(data)
    return data


def _compute(
    held: StudyFolder,
    data: dict[str, Any],
    recipe: Recipe,
    plan: Plan,
    client: Any,
    jobs: int,
    progress: Progress | None,
) -> Swept:
    blocks, notes = blocks_of(data), len(recipe.notes)
    tally = _Tally(plan.count * notes, progress)
    missing = np.ones(len(blocks), dtype=bool)
    for told, *_ in newest(held.blocks, blocks, data["key"]):
        if not told.lost:
            missing[told.block.index] = False
            tally.keep(told)
    tally.tell()
    tasks = tasks_of(plan, _in_order(blocks, missing, recipe.device == "cpu"))
    count = min(workers(jobs), int(missing.sum()))
    if client is not None:
        results = sweep_dask.on_cluster(client, recipe, tasks, int(missing.sum()))
    elif recipe.device != "cpu":
        results = on_devices(recipe, tasks, int(missing.sum()), max(count, 1))
    else:
        results = ([one] for one in on_this_machine(recipe, tasks, count))
    with closing(results), Keeper(held, data["key"], recipe.device != "cpu") as keeper:  # type: ignore[type-var]
        for together in results:
            for kept in keeper.add(together):
                tally.add(kept)
        for kept in keeper.rest():
            tally.add(kept)
    path = held.path / RESULTS
    survey = assemble(held.path, data, path, "give the same command with --resume")
    counts = {name: survey.counts[name] for name in sorted(survey.counts, key=lambda name: (name != "ok", name))}
    return Swept(
        path,
        counts,
        survey.reasons.most_common(),
        judged(survey.checks, recipe.doubt, data["note_names"]),
        tally.seconds,
    )


def _in_order(blocks: Cut, missing: NDArray[np.bool_], judged_first: bool) -> Iterator[Block]:
    """Blocks that are to be computed.

    On the processor those that SciPy judges come first: they take longest. A device plays thousands together, of which
    few are to be judged, so that SciPy has time for them while the next are played.
    """
    rank = sorted(blocks.judged, key=lambda i: (-blocks.judged[i], i)) if judged_first else []
    judged = [i for i in rank if missing[i]]
    others = missing.copy()
    others[judged] = False
    yield from (blocks[int(i)] for i in (*judged, *np.flatnonzero(others)))


def begun(folder: str | Path) -> bool:
    """Whether a sweep has been begun in a folder."""
    return SWEEP.begun_in(Path(folder))


def tasks_of(plan: Plan, blocks: Iterable[Block]) -> Iterator[Task]:
    """The blocks with their rows of the plan, made when they are needed."""
    return (Task(block, plan.rows(block.start, block.stop)) for block in blocks)


class _Tally:
    """Counts designs and tells of it."""

    def __init__(self, total: int, progress: Progress | None) -> None:
        self._total, self._progress = total, progress
        self._done = self._kept = self._failed = 0
        self._began = time.monotonic()

    def keep(self, told: Told) -> None:
        """Count a block that was kept."""
        self._kept += told.trains
        self._done += told.trains
        self._failed += told.trains - told.count("ok")

    def add(self, results: Sequence[BlockResult]) -> None:
        """Count new blocks and tell of them."""
        for one in results:
            self._done += len(one.status)
            self._failed += int(np.count_nonzero(~one.status.are("ok")))
        self.tell()

    def tell(self) -> None:
        """Say how far it is."""
        if self._progress:
            self._progress(State(self._done, self._total, self._kept, self._failed, self.seconds))

    @property
    def seconds(self) -> float:
        """Time since the beginning."""
        return time.monotonic() - self._began
