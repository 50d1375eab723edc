"""What the commands print: 80 columns, in the units asked for, plain text in a pipe."""

import contextlib
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from command_line import ended, start
from patience import HANG
from rich.table import Table
from rich.text import Text
from short_case import spoilt, start_case

from keyaction.cases.text.signs import unseen
from keyaction.sim.commands.console import err, out

LONG = "A very long title that nobody would give to a case but somebody will, and it goes on and on and on and on"


def fits(text: str) -> bool:
    wide = [line for line in text.split("\n") if len(line) > 80]
    assert not wide, "\n".join(wide)
    assert "\x1b" not in text  # no colours in a pipe
    return True


@pytest.mark.one_in(3)
@pytest.mark.parametrize("units", ["trade", "si"])
@pytest.mark.parametrize("case", ["demo-wood", "demo-carbon", "short.toml"])
def test_check_fits(keyaction, case, units):
    said = keyaction("check", case, "--units", units)
    assert (said.status, said.err) == (0, "")
    assert fits(said.out)


@pytest.mark.parametrize("units", ["trade", "si"])
@pytest.mark.parametrize("arguments", [[], ["--note", "C#4"], ["--about"]])
def test_show_fits(keyaction, played, arguments, units):
    said = keyaction("show", played / "short.h5", *arguments, "--units", units)
    assert (said.status, said.err) == (0, "")
    if arguments != ["--about"]:
        assert fits(said.out)


@pytest.mark.parametrize("form", ["text", "both"])
def test_equations_fit(keyaction, form):
    said = keyaction("equations", "short.toml", "--form", form)
    assert (said.status, said.err) == (0, "")
    text, _, _ = said.out.partition("\\")
    assert fits(text)


def test_equations_of_the_long_train_fit(keyaction):
    assert fits(keyaction("equations", "demo-wood").out)


def test_run_fits(keyaction):
    said = keyaction("run", "short.toml", "--notes", "C4:D4", "--jobs", "1")
    assert (said.status, said.err) == (0, "")
    assert fits(said.out)


def test_long_names_fit_too(keyaction, folder):
    name = "the-wire-that-pulls-the-pallet"
    text = spoilt(
        ('title = "Invented short action"', f'title = "{LONG}"'),
        ('part = "pull-down"\n', f'part = "pull-down"\nname = "{name}"\n'),
    )
    (folder / "long.toml").write_text(text, encoding="utf-8")
    assert keyaction("run", "long.toml", "--notes", "C4", "--jobs", "1").status == 0
    for arguments in (["check", "long.toml"], ["show", "long.h5"], ["show", "long.h5", "--note", "C4"]):
        for units in ("trade", "si"):
            said = keyaction(*arguments, "--units", units)
            assert said.status == 0
            assert fits(said.out), arguments


# -- remarks and complaints ------------------------------------------------------------------------------
WARNED = "C#4: pluck is above 81.6 gf to 255 gf (common practice for an uncoupled manual)"


def heavy(folder):
    from short_case import ABSURD, write_case

    write_case(folder, more='\n[notes.Cs4.pallet-spring]\nforce = "9 N"\n' + ABSURD.format(note="D4"))
    return ("run", "short.toml", "--notes", "C#4,D4", "--jobs", "1")


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="no terminals here")
def test_what_is_said_on_a_terminal_is_broken_at_words(folder):
    arguments = heavy(folder)
    ours, theirs = os.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "keyaction", *arguments],
        cwd=folder,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=theirs,
        env={**os.environ, "COLUMNS": "60", "TERM": "xterm"},
    )
    os.close(theirs)
    told = b""
    with contextlib.suppress(OSError):  # how a terminal ends
        while piece := os.read(ours, 65536):
            told += piece
    os.close(ours)
    assert process.wait(timeout=HANG) == 1
    lines = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", told.decode()).replace("\r", "").split("\n")
    said = [line for line in lines if line.startswith(("warning: ", "D4: ", "  "))]
    assert max(map(len, said)) <= 60
    joined = " ".join(line.strip() for line in said)
    assert f"warning: {WARNED}" in joined and "D4: failed: " in joined
    first = next(i for i, line in enumerate(said) if line.startswith("warning: "))
    assert said[first + 1].startswith("  ") and not said[first + 1].startswith("   ")


def test_in_a_pipe_it_stays_one_line(keyaction, folder):
    said = keyaction(*heavy(folder))
    assert f"warning: {WARNED}" in said.lines
    (failed,) = [line for line in said.lines if line.startswith("D4: failed: ")]
    assert len(failed) > 80
    assert not any(line.startswith(" ") for line in said.lines)


def test_warnings_of_check_hang_in(keyaction, folder):
    heavy(folder)
    out = keyaction("check", "short.toml").out
    told = out[out.index("Warnings: ") :].splitlines()[1:]
    assert all(line.startswith(("- ", "  ")) for line in told) and any(line.startswith("  ") for line in told)
    assert max(map(len, told)) <= 80


# -- units -----------------------------------------------------------------------------------------------
def test_units_of_the_table(keyaction, played):
    trade = keyaction("show", played / "short.h5").out
    si = keyaction("show", played / "short.h5", "--units", "si").out
    assert "…" not in si  # no figure is cut short
    heads = [next(line for line in text.split("\n") if line.startswith("note")).split() for text in (trade, si)]
    assert heads == [
        ["note", "mm", "gf", "gf", "%", "mm", "mm", "ms", "ms", "ms", "Hz"],
        ["note", "m", "N", "N", "%", "m", "m", "s", "s", "s", "Hz"],
    ]
    rows = [next(line for line in text.split("\n") if line.startswith("C4")).split() for text in (trade, si)]
    assert float(rows[0][2]) / float(rows[1][2]) == pytest.approx(1000 / 9.80665, rel=0.01)
    assert float(rows[0][5]) / float(rows[1][5]) == pytest.approx(1000, rel=0.01)


@pytest.mark.parametrize("arguments", [["check", "short.toml"], ["equations", "short.toml"]])
def test_units_of_the_other_commands(keyaction, arguments):
    trade, si = (keyaction(*arguments, "--units", units).out for units in ("trade", "si"))
    assert re.search(r"\b70 mmH2O\b", trade) and not re.search(r"\b686(\.5)? Pa\b", trade)
    assert re.search(r"\b686(\.\d+)? Pa\b", si) and "70 mmH2O" not in si
    assert re.search(r"\b9\.5 mm\b", trade)
    assert re.search(r"\b0\.0095 m\b", si)


def test_what_was_assumed_is_in_the_units_asked_for(keyaction):
    trade, si = (" ".join(keyaction("check", "short.toml", "--units", units).out.split()) for units in ("trade", "si"))
    assert "dip_force 510 gf: common practice" in trade and "down 40 ms: common practice" in trade
    assert "dip_force 5 N: common practice" in si and "down 0.04 s: common practice" in si
    told = si[si.index("Assumptions: ") :]
    assert not re.search(r"\d (gf|g|mm|mm²|ms|mm/s|mmH2O|N/mm|N·mm|deg):", told)  # in sources of values they may stand


def test_units_of_one_note(keyaction, played):
    trade, si = (keyaction("show", played / "short.h5", "--note", "C4", "--units", u).out for u in ("trade", "si"))
    assert re.search(r"pluck force +1\d\d gf", trade)
    assert re.search(r"pluck force +1\.\d+ N", si)
    assert "Energy audit in mJ" in trade
    assert "Energy audit in J" in si


# -- what is in it ---------------------------------------------------------------------------------------
def test_both_dips_are_named_in_the_terminals_tables(keyaction, played):
    """The case writes 9.5 mm; under 5 N the key goes on into its felt."""
    rows = keyaction("show", played / "short.h5").out.splitlines()
    assert "dip: at 5 N; as written: 9.5 mm" in [row.rstrip() for row in rows]
    end = next(row.index(" dip") + len(" dip") for row in rows if " dip" in row)
    pressed = float(next(row for row in rows if row.startswith("C4"))[:end].split()[-1])
    one = keyaction("show", played / "short.h5", "--note", "C4").out
    assert re.search(r"^ *dip as written +9\.5 mm ", one, re.MULTILINE)
    told = re.search(r"^ *dip at 5 N +([0-9.]+) mm ", one, re.MULTILINE)
    assert told and float(told[1]) == pytest.approx(pressed, abs=0.06) and pressed > 9.6


def test_check_shows_train_figures_assumptions_and_warnings(keyaction):
    out = keyaction("check", "short.toml", "--note", "D4").out
    assert out.startswith("short.toml: Invented short action\n8 notes, C4 to G4; note D4 is shown\n")
    places = [
        out.index(word)
        for word in ("[ key ]", "By levers alone", "Derived figures", "Materials", "Assumptions", "Warnings: 0")
    ]
    assert places == sorted(places)
    assert "common practice" in out


def test_check_says_what_was_chosen_for_every_material(keyaction, folder):
    text = (folder / "short.toml").read_text(encoding="utf-8").replace('"sitka-spruce"', '"spruce"')
    (folder / "words.toml").write_text(text, encoding="utf-8")
    said = keyaction("check", "words.toml")
    assert said.status == 0 and max(map(len, said.out.splitlines())) <= 80
    told = " ".join(said.out[said.out.index("Materials: what was chosen") :].split())
    assert "Written 'spruce', which is taken for this, not norway-spruce" in told
    for word in ("sitka-spruce", "E 9.9 GPa", "density 403 kg/m³", "Table 5-3a", "phi_slip", "t_slip", "heat_ratio"):
        assert word in told


def test_show_one_note_has_every_figure_with_its_definition(keyaction, played):
    from keyaction.sim.figures.columns import QUANTITIES

    out = " ".join(keyaction("show", played / "short.h5", "--note", "c4").out.split())
    for quantity in QUANTITIES.values():
        assert quantity.label.split()[0] in out
        # The definition is broken into lines beside the figure; its first words stand together.
        assert " ".join(quantity.definition.split()[:3]) in out
    for title in (
        "What gave way before the pluck",
        "Effective mass at the key, part by part",
        "Natural frequencies",
        "Energy audit",
    ):
        assert title in out


def test_show_about_tells_what_the_file_rests_on(keyaction, played):
    out = keyaction("show", played / "short.h5", "--about").out
    for word in (
        "made: ",
        "case_name: short.toml",
        "checksum: ",
        "methods: LSODA, then Radau, then BDF",
        "versions: ",
    ):
        assert word in out
    assert "common practice" in out


def test_a_title_is_not_read_as_markup(keyaction, folder):
    title = "Opus [bold]5[/bold] [/x] :smile:"
    (folder / "odd.toml").write_text(spoilt(('"Invented short action"', f'"{title}"')), encoding="utf-8")
    said = keyaction("run", "odd.toml", "--notes", "C4", "--jobs", "1")
    assert said.status == 0
    assert said.out.startswith(title)
    assert keyaction("show", "odd.h5").out.startswith(title)
    assert keyaction("show", "odd.h5", "--note", "C4").out.startswith(f"{title}: note C4")
    assert title in keyaction("check", "odd.toml").out
    assert title in keyaction("equations", "odd.toml").out


def test_a_long_path_is_printed_whole(keyaction, folder):
    deep = folder / ("deep-" * 12) / ("down-" * 12)
    deep.mkdir(parents=True)
    said = keyaction("run", "short.toml", "--notes", "C4", "--jobs", "1", "--out", deep / "some.h5")
    assert said.status == 0
    assert f"result: {deep / 'some.h5'}\n" in said.out


def test_latex_alone_is_a_document_part(keyaction):
    out = keyaction("equations", "short.toml", "--form", "latex").out
    assert out.count("\\begin{") == out.count("\\end{") > 0
    assert "Symbols" not in out
    laid = keyaction("equations", "short.toml", "--form", "latex", "--laid-mass").out
    assert laid != out


# -- notes by the trade's names --------------------------------------------------------------------------
def test_the_trade_s_names_of_notes(keyaction, folder):
    text = start_case(folder).read_text(encoding="utf-8").replace('note_names = "scientific"', 'note_names = "trade"')
    for one, other in (("C2", "C"), ("C4", "c1"), ("G6", "g3")):
        text = re.sub(rf'(?<=[" ]){one}(?=[" ])', other, text)
    (folder / "trade.toml").write_text(text, encoding="utf-8")
    said = keyaction("check", "trade.toml")
    assert (said.status, said.err) == (0, "")
    assert "56 notes, C to g3; note e1 is shown" in said.out
    said = keyaction("run", "trade.toml", "--notes", "C,g3", "--jobs", "1")
    assert said.status == 0
    assert [line.split()[0] for line in said.out.split("\n") if re.match(r"\w+#? +\d", line)] == ["C", "g3"]
    assert keyaction("show", "trade.h5", "--note", "g3").status == 0
    said = keyaction("show", "trade.h5", "--note", "C4")
    assert said.status == 2
    assert "is not a note in trade naming" in said.err


# -- as a real process -----------------------------------------------------------------------------------
def test_a_reader_that_stops_listening_is_no_error(folder):
    process = start(folder, "equations", "demo-wood")
    assert process.stdout.readline()
    process.stdout.close()
    process.wait(HANG)
    assert "Traceback" not in process.stderr.read()
    process.stderr.close()


def test_a_pipe_gets_the_same_text(folder, keyaction):
    assert ended(start(folder, "check", "short.toml")).out == keyaction("check", "short.toml").out


@pytest.mark.skipif(os.name != "posix", reason="closes a channel of a process")
@pytest.mark.parametrize(("closed", "status", "words"), [(">&-", 0, "short.toml"), ("2>&-", 2, "nothing.toml")])
def test_a_channel_that_is_closed_from_the_start(folder, closed, status, words):
    line = f'"{sys.executable}" -m keyaction check {words} {closed}'
    done = subprocess.run(["/bin/sh", "-c", line], cwd=folder, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (status, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="has no disk that is always full")
def test_a_full_disk_under_what_is_printed(folder):
    done = subprocess.run(
        ["/bin/sh", "-c", f'"{sys.executable}" -m keyaction check short.toml > /dev/full'],
        cwd=folder,
        capture_output=True,
        text=True,
    )
    assert (done.returncode, done.stderr) == (1, "cannot be printed or written: No space left on device\n")


def test_nothing_that_is_printed_moves_the_cursor(keyaction, capsys):
    """Not what a file says, nor a name on the command line."""
    said = keyaction("show", "\x1b[31mred\r.h5")
    assert (said.status, said.err.split(":")[0]) == (2, "?[31mred?.h5")
    out().print("a\x1b[2Jb\x9bc", markup=False)
    table = Table(title=Text("\x1b]0;title\x07"))
    table.add_column("\x1b[1m")
    table.add_row("x\x08y")
    err().print(table)
    told = capsys.readouterr()
    assert told.out == "a?[2Jb?c\n"
    assert unseen(told.err) == "" and "xy" in told.err
