"""`import keyaction`: few names, quickly there."""

import doctest
import subprocess
import sys

import pytest

import keyaction


def test_the_public_names_are_there():
    assert set(keyaction.__all__) == {
        "NoteModel",
        "__version__",
        "load",
        "open_study",
        "read_case",
        "run",
        "run_study",
        "save",
        "train_of",
    }
    for name in keyaction.__all__:
        assert getattr(keyaction, name) is not None


def test_an_unknown_name_is_answered_with_those_there_are():
    with pytest.raises(AttributeError, match="module 'keyaction' has no attribute 'reed_case'; it has NoteModel, "):
        _ = keyaction.reed_case


def test_the_import_alone_loads_nothing_heavy():
    script = (
        "import sys, keyaction; print([m for m in ('numpy', 'sympy', 'scipy', 'numba', 'h5py') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_the_example_of_the_docstring():
    found = doctest.testmod(keyaction)
    assert found.attempted == 3
    assert found.failed == 0
