"""Commands that only show or check load nothing that they do without, and end cleanly from their first moment."""

import os
import signal
import subprocess
import sys
import time

import pytest
from loaded import HEAVY, libraries, loaded_by
from patience import HANG
from small_instrument import write_instrument

COMMANDS = (
    "new", "check", "materials", "layout", "run", "show", "equations", "sweep", "compare", "report", "weigh", "tune",
    "springs", "pallets", "chord", "assist", "seasons", "rail", "adjust", "sheet", "regulate", "diagnose",
    "calibrate", "tolerances", "bench", "search",
)  # fmt: skip


@pytest.mark.parametrize("arguments", [["--version"], ["--help"], *([name, "--help"] for name in COMMANDS)])
def test_help_loads_nothing_heavy(arguments):
    assert loaded_by(*arguments) == set()


def test_show_loads_what_reads_the_file_and_no_more(played):
    assert loaded_by("show", played / "short.h5") <= {"h5py"}
    assert loaded_by("show", played / "short.h5", "--note", "C4", "--about") <= {"h5py"}


def test_show_of_an_instrument_is_as_light(tmp_path):
    from keyaction.cases.instrument.reader import read_instrument
    from keyaction.sim.run.run import run

    run(read_instrument(write_instrument(tmp_path)), "great/C4,II/C4", tmp_path / "organ.h5")
    assert loaded_by("show", tmp_path / "organ.h5", "--note", "II/C4", "--about") <= {"h5py"}


def test_show_loads_the_plotting_library_for_pictures_only(played, tmp_path):
    assert "matplotlib" in loaded_by("show", played / "short.h5", "--plots", tmp_path / "pictures")


def test_materials_are_listed_with_nothing_heavy(folder):
    assert loaded_by("materials", "spruce", "--case", "short.toml", cwd=folder) == set()


def test_check_balances_without_deriving_twice_and_draws_nothing(folder):
    assert loaded_by("check", "short.toml", cwd=folder) <= {"sympy", "scipy", "numba"}  # the first derives what is new
    assert loaded_by("check", "short.toml", cwd=folder) == {"scipy", "numba"}


def test_a_result_is_read_without_the_libraries_that_made_it(played):
    code = (
        "import sys; from keyaction.sim.files.hdf5 import load; print(len(load(sys.argv[1]).notes)); "
        "print(*sys.modules, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code, played / "short.h5"], capture_output=True, text=True, check=True)
    assert done.stdout == "3\n"
    assert libraries(set(done.stderr.split())) == {"h5py"}


@pytest.mark.usefixtures("played")
def test_a_run_of_a_train_that_was_played_before_derives_nothing(folder):
    found = loaded_by("run", "short.toml", "--notes", "C4", "--plots", "pictures", "--jobs", "1", cwd=folder)
    assert found == {"scipy", "numba", "matplotlib", "h5py"}  # all signs are known ones, else none would be found
    assert set(HEAVY) == found | loaded_by("equations", "short.toml", cwd=folder)


# -- Ctrl-C and odd terminals from the first moment on ----------------------------------------------------
INTERRUPTED = """
import os, signal, sys, time
import keyaction.sim.commands.{module} as module
def interrupted(*_):
    os.kill(os.getpid(), signal.SIGINT)
    time.sleep(30)
module.{name} = interrupted
from keyaction.sim.cli import main
sys.argv = ["keyaction", "check", "demo-wood"]
sys.exit(main())
"""


@pytest.mark.skipif(os.name != "posix", reason="a process sends itself Ctrl-C")
@pytest.mark.parametrize(("module", "name"), [("start", "parse"), ("start", "import_module"), ("chosen", "read_case")])
def test_ctrl_c_while_a_command_is_loading_or_reading(module, name):
    code = INTERRUPTED.format(module=module, name=name)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=25)
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "stopped\n")


AT_THE_FIRST_LINE = """
import sys
from keyaction.sim.cli import main
sys.argv = ["keyaction", "run", "short.toml", "--out", "some.h5"]
class Told:
    def find_spec(self, name, *_):
        if name == "keyaction.sim.commands.start":
            print("now", flush=True)
sys.meta_path.insert(0, Told())
sys.exit(main())
"""
"""Before it Python itself starts, which answers Ctrl-C in its own way."""


@pytest.mark.skipif(os.name != "posix", reason="a process is sent Ctrl-C")
@pytest.mark.parametrize("after", [0.0, 0.01, 0.02, 0.05, 0.1, 0.25, 0.5])
def test_ctrl_c_from_the_first_line_on(folder, after):
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    process = subprocess.Popen([sys.executable, "-c", AT_THE_FIRST_LINE], cwd=folder, start_new_session=True, **pipes)
    assert process.stdout.readline() == "now\n"
    time.sleep(after)
    process.send_signal(signal.SIGINT)
    _, complaints = process.communicate(timeout=HANG)
    assert process.returncode == 130
    assert complaints.startswith("stopped") and complaints.count("\n") == 1


@pytest.mark.one_in(3)
@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp437", "utf-8"])
@pytest.mark.parametrize("arguments", [["--help"], ["check", "short.toml"], ["equations", "short.toml"]])
def test_a_terminal_that_lacks_some_signs(folder, encoding, arguments):
    environment = {**os.environ, "PYTHONIOENCODING": encoding}
    words = [sys.executable, "-m", "keyaction", *arguments]
    done = subprocess.run(words, capture_output=True, cwd=folder, env=environment)
    assert (done.returncode, done.stderr) == (0, b"")
    assert len(done.stdout.decode(encoding)) > 500


def test_a_complaint_with_signs_that_the_terminal_lacks(folder):
    (folder / "tür.toml").write_text("dip = 1\n", encoding="utf-8")
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    words = [sys.executable, "-m", "keyaction", "check", "tür.toml"]
    done = subprocess.run(words, capture_output=True, text=True, cwd=folder, env=environment)
    assert done.returncode == 2
    assert done.stderr.startswith("t\\xfcr.toml: ")
    assert "Traceback" not in done.stderr
