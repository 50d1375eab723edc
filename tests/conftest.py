"""What all tests share: helper modules, and what takes long to make, made once per session."""

import gc
import os
import signal
import sys
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

# The helper modules are imported by bare name under any import mode.
sys.path.insert(0, str(Path(__file__).parent / "helpers"))

from demo_train import demo, demo_model

from keyaction.sim.code.cache import CACHE

# The many processes that tests start would else each compile every source again where the environment says so.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# How long an example takes says nothing about the program when the machine has other work.
settings.register_profile("patient", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("patient")

SHARING = (
    "sim/compare/test_compare.py",
    "plots/report/test_report.py",
    "plots/report/test_report_command.py",
    "plots/report/test_report_looks.py",
)
"""Files whose tests ask for the same comparison."""

LONGEST = (
    "models/train/test_names.py",  # presses nothing: one worker alone compiles what all presses share
    "project/test_readme.py",
    *SHARING,
    "sim/lanes/test_lane_engine.py",
    "plots/test_coupled_pictures.py",
    "sim/tune/test_tune.py",
    "sim/sweep/test_resume.py",
    "cases/action/test_own_parts.py",
    "physics/test_coupled_by_hand.py",
    "sim/commands/test_light_start.py",
    "plots/test_every_figure.py",
    "plots/report/test_coupled_report.py",
    "sim/commands/test_output.py",
    "sim/commands/test_instruments.py",
    "sim/calibration/test_calibration.py",
    "sim/processes/test_tasks.py",
    "sim/code/test_generated_code.py",
    "sim/run/test_manual.py",
    "sim/commands/test_interruption.py",
    "plots/study/test_sweep_pictures.py",
    "sim/chord/test_chord.py",
    "sim/test_facade.py",
    "physics/test_side_motion.py",
    "sim/commands/test_damage.py",
    "sim/commands/test_run.py",
    "physics/test_kinds_by_hand.py",
    "sim/code/test_kernel.py",
    "sim/regulating/test_regulate.py",
    "models/train/test_trees.py",
    "sim/assist/test_assisted.py",
    "sim/run/test_instrument.py",
    "sim/sweep/test_cluster.py",
    "sim/commands/test_diagnose.py",
    "plots/compare/test_compared.py",
    "sim/commands/test_new_quantity.py",
    "models/instrument/test_board_drawn.py",
    "sim/coupling/test_tune_couplers.py",
    "project/test_kinds.py",
    "project/test_reference.py",
)
"""Files that take longest, in the order in which they begin, so that no process ends long after the others."""

# Started in the background by a shell, a process ignores Ctrl-C, and all that it starts does; some tests send it.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_configure(config):
    """Equations are compiled once for all tests and workers; the tests of a file share what they make."""
    if CACHE not in os.environ and hasattr(config, "cache"):
        os.environ[CACHE] = str(config.cache.mkdir("equations"))
    if getattr(config.option, "dist", None) == "load":
        config.option.dist, config.option.loadscopereorder = "loadfile", False


def pytest_addoption(parser):
    parser.addoption("--long", action="store_true", help="also the tests, and the variants of tests, that take longest")


MANY, WHOLE = 8, ("published", "project")
"""Of more variants of a test than this every second is run, of more than twice as many every third; rooms in which all
are run: published figures, and READMEs in order."""


def pytest_collection_modifyitems(config, items):
    """What takes longest only when asked for; long files first, the order of all others, and within a file, stays."""
    if not config.getoption("--long"):
        variants = Counter(_of(item) for item in items)
        kept, left_out = [], []
        for item in items:
            (kept if _asked(item, variants[_of(item)]) else left_out).append(item)
        config.hook.pytest_deselected(items=left_out)
        items[:] = kept
    places = {Path(__file__).parent / name: i for i, name in enumerate(LONGEST)}
    items.sort(key=lambda item: places.get(item.path, len(LONGEST)))


def _of(item):
    """The function of which a test is a variant."""
    return item.nodeid.partition("[")[0]


def _asked(item, variants):
    """Whether a test is run without --long: of `one_in(n)` variants, and of very many, always the same ones."""
    if item.get_closest_marker("long"):
        return False
    call = getattr(item, "callspec", None)
    return call is None or sum(call.indices.values()) % _one_in(item, variants) == 0


def _one_in(item, variants):
    """Of how many variants of a test one is run."""
    if mark := item.get_closest_marker("one_in"):
        return mark.args[0]
    if variants <= MANY or any(item.path.is_relative_to(Path(__file__).parent / room) for room in WHOLE):
        return 1
    return 2 if variants <= 2 * MANY else 3


def pytest_collection_finish():
    """The libraries' objects stay to the end: to look through them again and again took an eighth of the time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(10_000, 20, 20)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """By file, but files that share what takes longest to make go to one worker, and each README is by itself."""
    if config.option.dist != "loadfile":
        return None
    from xdist.scheduler import LoadFileScheduling

    class Shared(LoadFileScheduling):
        def _split_scope(self, nodeid):
            file = super()._split_scope(nodeid)
            readme = nodeid.rpartition("README.md-")[0]
            return readme or ("compared" if file.endswith(SHARING) else file)

    return Shared(config, log)


@pytest.fixture(scope="session")
def make_train():
    """`make_train(**{"roller.length": "600 mm"})`: the demo train with dotted overrides; None removes a field."""
    return demo


@pytest.fixture(scope="session")
def make_model():
    """The same as a model that plays; `tune` sets parameters of the equations, `tolerances` the integration."""
    return demo_model


@pytest.fixture(scope="session")
def swept(tmp_path_factory):
    """The small study, run whole in this process."""
    from small_study import small

    from keyaction.sim.sweep.sweep import State, run_study

    folder = tmp_path_factory.mktemp("swept")
    states: list[State] = []
    found = run_study(small(folder), folder / "out", jobs=1, judge=1, progress=states.append)
    return folder, found, states


@pytest.fixture(scope="session")
def case_path(tmp_path_factory):
    """The workshop's case, to be read only."""
    from workshop_case import write_case

    return write_case(tmp_path_factory.mktemp("case"))


@pytest.fixture(scope="session")
def compared(case_path):
    """Spruce and carbon rod under two pressures, three notes: A to D."""
    from keyaction.sim.compare.compare import compare
    from keyaction.sim.compare.variants import read_variants

    made = read_variants(case_path, ["spruce", "carbon-rod"], ["box.pressure=70 mmH2O,85 mmH2O"])
    return compare(made, "C4:D4", "C#4", jobs=1)
