"""Fixtures of tests that run commands; a conftest imports or makes from here what its tests ask for."""

from collections.abc import Callable
from pathlib import Path

import pytest
from command_line import Keyaction


def folder_with(write: Callable[[Path], object]):
    """The fixture `folder`: a working folder with what `write` writes into it."""

    @pytest.fixture
    def folder(tmp_path, monkeypatch):
        write(tmp_path)
        monkeypatch.chdir(tmp_path)
        return tmp_path

    return folder


@pytest.fixture
def keyaction(folder, capsys):
    """`keyaction("check", "short.toml")` in the working folder: status, standard output, standard error."""
    return Keyaction(folder, capsys)
