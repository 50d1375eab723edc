"""`import keyaction`: a light import, and only what is documented in full."""

import doctest
import inspect
import re
import subprocess
import sys
from types import ModuleType

import pytest

import keyaction
from keyaction import drives

PUBLIC = {name: getattr(keyaction, name) for name in keyaction.__all__}
DRIVES = {f"drives.{name}": getattr(drives, name) for name in drives.__all__}
OBJECTS = {name: one for name, one in (PUBLIC | DRIVES).items() if not isinstance(one, str | ModuleType)}
PROBLEMS = {name: one for name, one in OBJECTS.items() if inspect.isclass(one) and issubclass(one, Exception)}
FUNCTIONS = {name: one for name, one in OBJECTS.items() if inspect.isfunction(one)}
CLASSES = {name: one for name, one in OBJECTS.items() if name not in PROBLEMS and name not in FUNCTIONS}


def test_the_public_names_are_there():
    functions = (
        "read_case read_instrument run evaluate evaluate_parameters load save run_study open_study run_search train_of "
        "equations right_hand_side jacobian modes verdict with_spread drawn_couplers coupled_train smallest_pallets "
        "tune_couplers chord"
    )
    classes = (
        "Case Instrument Result InstrumentResult Swept Searched NoteModel Motion Equations RightHandSide Modes Verdict "
        "Sized Regulated Chord"
    )
    problems = "CaseProblem CouplerProblem TrainProblem NoteProblem FileProblem ChordProblem"
    assert set(PUBLIC) == {*functions.split(), *classes.split(), *problems.split(), "drives", "__version__"}
    assert len(FUNCTIONS) + len(CLASSES) + len(PROBLEMS) == len(OBJECTS) == len(PUBLIC) - 2 + len(drives.__all__)
    assert set(PUBLIC) <= set(dir(keyaction))


def test_an_unknown_name_is_answered_with_those_there_are():
    with pytest.raises(AttributeError, match=r"module 'keyaction' has no attribute 'reed_case'; it has .*read_case"):
        _ = keyaction.reed_case


def test_the_import_alone_loads_nothing_heavy():
    script = (
        "import sys, keyaction; print([m for m in ('numpy', 'sympy', 'scipy', 'numba', 'h5py') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


# -- documentation ---------------------------------------------------------------------------------------
def sections(doc: str) -> dict[str, str]:
    """Sections of a NumPy docstring by heading; what stands before the first is the summary."""
    pieces = re.split(r"^(\w[\w ]*)\n-{3,}$", inspect.cleandoc(doc), flags=re.MULTILINE)
    return {"Summary": pieces[0].strip()} | dict(zip(pieces[1::2], pieces[2::2], strict=True))


def described(text: str) -> set[str]:
    """Names at the beginning of the entries of a section: ``a, b : float``, ``**values : float``."""
    heads = re.findall(r"^(\S[^:\n]*?)(?: : .*)?$", text, flags=re.MULTILINE)
    return {name.strip().lstrip("*") for head in heads for name in head.split(",")}


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_function_is_documented_in_full(name):
    found = sections(FUNCTIONS[name].__doc__)
    assert found["Summary"].partition("\n")[0].endswith(".")
    arguments = set(inspect.signature(FUNCTIONS[name]).parameters)
    assert described(found["Parameters"]) == arguments
    for heading in ("Returns", "Raises", "Examples"):
        assert found[heading].strip(), heading


@pytest.mark.parametrize("name", CLASSES)
def test_a_class_is_documented_in_full(name):
    one = CLASSES[name]
    found = sections(one.__doc__)
    assert found["Summary"].partition("\n")[0].endswith((".", "SI."))
    fields = {name for name in inspect.signature(one).parameters if not name.startswith("_")}
    assert described(found.get("Parameters") or found["Attributes"]) == fields
    assert ">>> " in found["Examples"]
    members = {n: m for n, m in vars(one).items() if not n.startswith("_") and (callable(m) or isinstance(m, property))}
    assert [n for n, m in members.items() if not inspect.getdoc(m)] == []


@pytest.mark.parametrize("name", PROBLEMS)
def test_an_error_says_what_it_means(name):
    assert PROBLEMS[name].__doc__.strip().endswith(".")


def examples() -> dict[str, doctest.DocTest]:
    """Every docstring with an example, of the package, its public names and their methods."""
    finder = doctest.DocTestFinder(recurse=True)
    found = [test for name, one in OBJECTS.items() for test in finder.find(one, name, module=False, globs={})]
    parser = doctest.DocTestParser()
    found += [
        parser.get_doctest(module.__doc__, {}, module.__name__, None, 0) for module in (keyaction, keyaction.drives)
    ]
    return {test.name: test for test in found if test.examples}


EXAMPLES = examples()


def test_every_public_name_has_an_example():
    assert set(OBJECTS) - set(PROBLEMS) <= set(EXAMPLES)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_example_runs(name, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    runner = doctest.DocTestRunner()
    runner.run(EXAMPLES[name], clear_globs=False)
    assert runner.summarize(verbose=False).failed == 0, capsys.readouterr().out


def test_objects_are_shown_in_a_line():
    case = keyaction.read_case("demo-wood")
    train = keyaction.train_of(case, "C4")
    model = keyaction.NoteModel(train)
    motion = model.play(drives.stroke(0.01, 0.01, 0.01, 1e-3, rest=0.01))
    for one in (case, train, model, motion, keyaction.run(case, "C4")):
        assert len(repr(one)) < 500 and "array" not in repr(one)
