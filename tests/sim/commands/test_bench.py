"""keyaction bench: what it refuses, what it serves, and how it ends."""

import os
import signal
import socket
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress

import httpx
import pytest
from patience import HANG
from short_case import QUICK, write_case
from small_instrument import write_instrument

ON_POSIX = pytest.mark.skipif(os.name != "posix", reason="a process is sent Ctrl-C")


@contextmanager
def bench(folder, *words, **more):
    """The command as a process of its own, and the address that it prints."""
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True, "start_new_session": True}
    command = [sys.executable, "-m", "keyaction", "bench", *words, "--no-browser"]
    process = subprocess.Popen(command, cwd=folder, **pipes, **more)
    try:
        lines = [process.stdout.readline() for _ in range(3)]
        yield process, lines[1].split()[-1], lines[0]
    finally:
        process.kill()
        process.wait()
        process.stdout.close()
        process.stderr.close()


@pytest.fixture
def case(folder):
    write_case(folder, more=QUICK)
    return folder


@ON_POSIX
def test_asked_saved_and_ended_by_ctrl_c(case):
    before = {one.name for one in case.iterdir()}
    with bench(case, "short.toml", "--note", "D4") as (process, address, title):
        assert title == "short.toml: Invented short action\n"
        with httpx.Client(base_url=address, timeout=HANG, trust_env=False) as client:
            assert client.get("about").json()["note"] == 62
            edits = [{"part": "key", "path": "dip", "value": "10 mm"}]
            assert client.post("feel", json={"edits": edits}).json()["verdict"]["sound"]
            assert {one.name for one in case.iterdir()} == before
            assert client.post("save", json={"edits": edits, "name": "deeper"}).status_code == 200
            process.send_signal(signal.SIGINT)  # while a client still holds on
            told, complaints = process.communicate(timeout=HANG)
    assert (process.returncode, told, complaints) == (0, "The bench is closed.\n", "")
    assert {one.name for one in case.iterdir()} == before | {"deeper.toml"}


def test_a_division_with_defects_comes_up_and_is_closed_by_the_page(folder):
    write_instrument(folder)
    great = folder / "great.toml"
    great.write_text(great.read_text(encoding="utf-8").replace('dip = "9.5 mm"', 'dip = "9.5"'), encoding="utf-8")
    with bench(folder, "organ.toml", "--division", "great") as (process, address, title):
        assert title == "great.toml\n"
        with httpx.Client(base_url=address, timeout=HANG, trust_env=False) as client:
            about = client.get("about").json()
            assert (about["division"], about["defects"][0]["path"], about["lost"]) == ("great", "dip", [])
            assert client.post("close", json={}).json() == {"closed": True}
        told, complaints = process.communicate(timeout=HANG)
    assert (process.returncode, told) == (0, "The bench is closed.\n")
    assert "9.5' has no unit" in complaints and complaints.count("\n") == 1


@ON_POSIX
def test_ctrl_c_while_figures_are_under_way_ends_in_order(case):
    with (
        bench(case, "short.toml") as (process, address, _),
        ThreadPoolExecutor(1) as pool,
        httpx.Client(base_url=address, timeout=HANG, trust_env=False) as client,
    ):
        asked = pool.submit(client.post, "whole", json={})
        client.get("about")
        (case / "short.toml").unlink()
        os.mkfifo(case / "short.toml")
        assert client.get("about").json()["lost"] == ["short.toml: is not a plain file"]
        process.send_signal(signal.SIGINT)
        told, complaints = process.communicate(timeout=HANG)
        with suppress(httpx.HTTPError):
            assert asked.result(HANG).status_code in (200, 503)
    assert (process.returncode, told, complaints) == (0, "The bench is closed.\n", "")


def test_help_says_one_division_and_what_ctrl_c_comes_to(keyaction):
    said = " ".join(keyaction("bench", "--help").out.split())
    assert "of an instrument the one division that is wanted" in said and "(default: all)" not in said
    assert "0 closed by the page or by Ctrl-C" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["none.toml"], "none.toml: no such file"),
        (["plenum.toml"], "plenum.toml: no such file; known: short.toml; shipped: demo-"),
        (["short.toml", "--note", "C9"], "C9"),
        (["short.toml", "--note", "C4:E4"], "one is needed"),
        (["short.toml", "--port", "70000"], "--port 70000: 0 (any free one) to 65535"),
        (["short.toml", "--division", "great"], "has no divisions"),
        (["demo-instrument"], "--division"),
    ],
)
def test_what_is_refused_in_one_line(case, keyaction, words, said):
    before = sorted(one.name for one in case.iterdir())
    done = keyaction("bench", *words, "--no-browser")
    assert (done.status, done.out) == (2, "") and said in done.err and done.err.count("\n") == 1
    assert sorted(one.name for one in case.iterdir()) == before


@pytest.mark.usefixtures("folder")
def test_a_port_that_is_taken(keyaction):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        done = keyaction("bench", "short.toml", "--no-browser", "--port", port)
    assert done.status == 2 and f"--port {port}: " in done.err and "leave it out" in done.err


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("missing", ["starlette", "uvicorn"])
def test_without_its_extra_one_line_says_what_to_get(keyaction, monkeypatch, missing):
    from keyaction.sim.commands import bench as module

    monkeypatch.setattr(module, "find_spec", lambda name: None if name == missing else object())
    done = keyaction("bench", "short.toml")
    assert (done.status, done.out) == (2, "")
    assert done.err == 'bench needs Starlette and uvicorn: pip install "keyaction[bench]"\n'
