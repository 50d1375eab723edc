"""Values set in a TOML text: the data, and every line that is not concerned."""

import subprocess
import sys
import tomllib
from copy import deepcopy
from difflib import ndiff

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from keyaction.cases.text.edit import EditProblem, with_values, without

FORCE = ("notes", "C4", "pallet-spring", "force")
OTHER = ("notes", "C#4", "pallet-spring", "force")
REST = (
    '\n[wind] # the wind\nodd = nan\npressure = "70 mmH2O"\n\n[[stops]]\nname = "Flute"\n[[stops]]\nname = "Octave"\n'
)


def with_data(data, values):
    data = deepcopy(data)
    for (*tables, name), value in values.items():
        table = data
        for one in tables:
            table = table.setdefault(one, {})
        table[name] = value
    return data


FORMS = {
    "a header": (
        "[notes.C4.pallet-spring] # stiff\n# by hand\nforce = '9 N' # weighed\nrate = \"20 N/m\"\n",
        "[notes.C4.pallet-spring] # stiff\n# by hand\nforce = \"1 N\" # weighed\nrate = \"20 N/m\"\n",
    ),
    "a header without the key, before a remark": (
        '[notes.C4.pallet-spring]\nrate = "20 N/m"\n\n# next\n',
        '[notes.C4.pallet-spring]\nrate = "20 N/m"\nforce = "1 N"\n\n# next\n',
    ),
    "an empty header": ("[notes.C4.pallet-spring]\n", '[notes.C4.pallet-spring]\nforce = "1 N"\n'),
    "headers of every table, spaces and quotes": (
        '[ notes ]\n[notes . "C4"]\n\t[notes.\'C4\'."pallet-spring"]\n\tforce="9 N"\n',
        '[ notes ]\n[notes . "C4"]\n\t[notes.\'C4\'."pallet-spring"]\n\tforce="1 N"\n',
    ),
    "dotted keys": (
        '[notes]\nC4.pallet-spring.rate = "20 N/m" # r\nC4.groove.width = "9 mm"\n',
        '[notes]\nC4.pallet-spring.rate = "20 N/m" # r\nC4.pallet-spring.force = "1 N"\nC4.groove.width = "9 mm"\n',
    ),
    "dotted keys at the start": (
        "notes.C4.pallet-spring.force = '9 N' # f\ntitle = \"x\"\n",
        "notes.C4.pallet-spring.force = \"1 N\" # f\ntitle = \"x\"\n",
    ),
    "braces": (
        '[notes]\nC4 = { pallet-spring = { force = "9 N", at = "3 mm" } } # f\n',
        '[notes]\nC4 = { pallet-spring = { force = "1 N", at = "3 mm" } } # f\n',
    ),
    "braces without the table": (
        '[notes]\nC4 = {groove = {width = "9 mm"}} # f\n',
        '[notes]\nC4 = {groove = {width = "9 mm"}, pallet-spring.force = "1 N"} # f\n',
    ),
    "braces with dotted keys": (
        '[notes]\nC4 = { pallet-spring.at = "3 mm" }\n',
        '[notes]\nC4 = { pallet-spring.at = "3 mm", pallet-spring.force = "1 N" }\n',
    ),
    "empty braces": ("notes = {} # none\n", "notes = { C4.pallet-spring.force = \"1 N\" } # none\n"),
    "a value in braces": (
        '[notes.C4.pallet-spring]\nforce = { value = "9 N", source = "x" } # f\n',
        '[notes.C4.pallet-spring]\nforce = "1 N" # f\n',
    ),
    "headers from inside out": (
        '[notes.C4.groove]\n[notes.C4]\npallet-spring.force = "9 N"\n[notes.D4.groove]\nwidth = "9 mm"\n[notes.D4]\n',
        '[notes.C4.groove]\n[notes.C4]\npallet-spring.force = "1 N"\n[notes.D4.groove]\nwidth = "9 mm"\n[notes.D4]\n',
    ),
    "an array of tables between the notes": (
        '[notes.C4.pallet-spring]\nforce = "9 N"\n[[ranks]] # one\n[notes.D4]\n',
        '[notes.C4.pallet-spring]\nforce = "1 N"\n[[ranks]] # one\n[notes.D4]\n',
    ),
    "lines that only look like headers": (
        '[notes.C4.pallet-spring]\nat = """\n[room]\n"""\nrows = [\n[1],\n[2]\n]\nforce = "9 N"\n',
        '[notes.C4.pallet-spring]\nat = """\n[room]\n"""\nrows = [\n[1],\n[2]\n]\nforce = "1 N"\n',
    ),
    "a table in pieces": (
        '[notes.C4.groove]\nwidth = "9 mm"\n[room]\nrh = "50 %"\n[notes.C4.pallet-spring]\nforce = "9 N" # f\n',
        '[notes.C4.groove]\nwidth = "9 mm"\n[room]\nrh = "50 %"\n[notes.C4.pallet-spring]\nforce = "1 N" # f\n',
    ),
}  # fmt: skip


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
@pytest.mark.parametrize(("before", "after"), FORMS.values(), ids=list(FORMS))
def test_a_value_is_set_where_its_table_stands(before, after, line_end):
    before, after = ((one + REST).replace("\n", line_end) for one in (before, after))
    assert with_values(before, {FORCE: "1 N"}, "a remark") == after


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_other_tables_are_added_at_the_end_under_the_remark(line_end):
    before = f'# mine\n[notes.C4.groove] # narrow\nwidth = "9 mm"\n{REST}\n\n'
    after = (
        before.rstrip("\n")
        + '\n\n# tuned\n\n[notes.C4.pallet-spring]\nforce = "1 N"\n\n[notes."C#4".pallet-spring]\nforce = "2 N"\n'
    )
    found = with_values(before.replace("\n", line_end), {FORCE: "1 N", OTHER: "2 N"}, "tuned")
    assert found == after.replace("\n", line_end)


def test_values_of_one_table_come_under_one_header():
    values = {("a", "b", "x"): "1", ("a", "b", "y"): "2"}
    assert with_values("z = 1", values) == 'z = 1\n\n[a.b]\nx = "1"\ny = "2"\n'


def test_what_is_so_already_stays_as_it_is_written():
    text = "[notes.C4.pallet-spring]\nforce = '1 N'\n\n\n"
    assert with_values(text, {FORCE: "1 N"}, "a remark") == text
    without_end = "[notes.C4.pallet-spring]\nforce = '9 N'"
    assert with_values(without_end, {FORCE: "1 N"}) == without_end.replace("'9 N'", '"1 N"')


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("notes = 3\n", "notes is not a table"),
        ('[notes]\n"C4" = [1]\n', r"notes\.C4 is not a table"),
        ("[[notes]]\nC4 = 1\n", "notes is not a table"),
        ("[notes.C4.pallet-spring.force]\nvalue = 1\n", r"notes\.C4\.pallet-spring\.force stands in a form that"),
        ("[notes\n", "not readable as TOML"),
    ],
)
def test_what_cannot_be_set_is_said(text, message):
    with pytest.raises(EditProblem, match=message):
        with_values(text, {FORCE: "1 N"})


def test_only_an_edit_loads_the_editor():
    code = "import sys, keyaction.cases.text.edit; sys.exit('tomlkit' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


# -- any text ------------------------------------------------------------------------------------------------
VALUES = st.sampled_from(['"9 N"', "'8 N'", "3", "1.5", "true", '["a", "b"]', '"""\nlong # text\n"""', "{ value = 1 }"])
FIELDS = st.dictionaries(st.sampled_from(["force", "rate", "at"]), VALUES, max_size=3)
PARTS = st.dictionaries(st.sampled_from(["pallet-spring", "groove"]), FIELDS, max_size=2)
NOTES = st.dictionaries(st.sampled_from(["C4", "C#4", "d'", "x.y"]), PARTS, max_size=4)
DATA = st.fixed_dictionaries({}, optional={"notes": NOTES, "wind": FIELDS, "title": VALUES})
EDITS = st.dictionaries(
    st.tuples(
        st.just("notes"),
        st.sampled_from(["C4", "C#4", "x.y", "é"]),
        st.sampled_from(["pallet-spring", "groove"]),
        st.sampled_from(["force", "at"]),
    ),
    st.sampled_from(["1 N", "2 N", 'a "quoted" \\ one', "\x7f\t"]),
    min_size=1,
    max_size=4,
)


REMARKS = (" # remark, [a] = 1", "# between", " # head", "# two", "# end")


class Writer:
    """Writes data as TOML in forms that are drawn, with remarks and empty lines between."""

    def __init__(self, draw):
        self.draw = draw
        self.blocks = []

    def among(self, *choices):
        return self.draw(st.sampled_from(choices))

    def key(self, name):
        plain = [name] if name.replace("-", "").isascii() and name.replace("-", "").isalnum() else []
        return self.among(*plain, f'"{name}"', *([] if "'" in name else [f"'{name}'"]))

    def inline(self, value):
        if isinstance(value, str):
            return "'one line'" if "\n" in value else value
        pad = self.among("", " ")
        return "{" + pad + ", ".join(self.entries(value)) + pad + "}"

    def entries(self, table):
        for name, value in table.items():
            if isinstance(value, dict) and value and self.among(True, False):
                yield from (f"{self.key(name)}.{entry}" for entry in self.entries(value))
            else:
                yield f"{self.key(name)}{self.among('=', ' = ')}{self.inline(value)}"

    def table(self, path, table, dotted=""):
        """Lines of a table in the present scope; tables with headers go to the blocks."""
        lines = []
        for name, value in table.items():
            key = self.key(name)
            form = self.among("header", "dotted", "inline") if isinstance(value, dict) else "line"
            if form == "header":
                self.header([*path, key], value)
            elif form == "dotted" and value:
                lines += self.table([*path, key], value, f"{dotted}{key}.")
            else:
                written = value if form == "line" else self.inline(value)
                lines.append(f"{self.among('', ' ')}{dotted}{key} = {written}{self.among('', ' # remark, [a] = 1')}")
            lines += self.among([], [""], ["# between"])
        return lines

    def header(self, path, table):
        lines = self.table(path, table)
        if any(lines) or not table or self.among(True, False):
            self.blocks.append("\n".join([f"[{'.'.join(path)}]{self.among('', ' # head')}", *lines]))


@st.composite
def texts(draw):
    writer = Writer(draw)
    start = "\n".join(writer.table([], draw(DATA)))
    writer.blocks += draw(st.sampled_from([[], ["[[stops]]\nname = 1\n\n[[stops]] # two\nname = 2"]]))
    text = "\n".join([start, *draw(st.permutations(writer.blocks))]) + draw(st.sampled_from(["", "\n", "\n\n# end\n"]))
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:  # a table opened twice
        assume(False)
    return draw(st.sampled_from([text, text.replace("\n", "\r\n")]))


def gone(text, found):
    """Lines with something in them that are no more, in their order."""
    return [line for line in ndiff(text.splitlines(), found.splitlines()) if line.startswith("- ") and line[2:].strip()]


def lines_of(text, names):
    """How many lines of the text a value takes."""
    value = tomllib.loads(text)
    for name in names:
        value = value.get(name) if isinstance(value, dict) else None
    return 3 if isinstance(value, str) and "\n" in value else 1


@given(texts(), EDITS)
@example("", {FORCE: "1 N"})
def test_any_text_is_edited(text, values):
    found = with_values(text, values, "a remark")
    assert tomllib.loads(found) == with_data(tomllib.loads(text), values)
    assert with_values(found, values, "a remark") == found
    assert len(gone(text, found)) <= sum(lines_of(text, names) for names in values)
    assert [found.count(word) >= text.count(word) for word in REMARKS] == [True] * len(REMARKS)


LEAVING = "[train]\na = 1  # x\nb = { c = 1, d = 2, e = 3 }\n# r\n[train.q]\nz = 1\n[train.q.r]\ny = 2\n# end\n"


@pytest.mark.parametrize(
    ("names", "gone"),
    [
        (("a",), "a = 1  # x\n"),
        (("b",), "b = { c = 1, d = 2, e = 3 }\n"),
        (("b", "c"), "c = 1,"),
        (("b", "d"), "d = 2,"),
        (("q", "z"), "z = 1\n"),
        (("q",), "[train.q]\nz = 1\n[train.q.r]\ny = 2\n# end\n"),
        (("none",), ""),
    ],
)
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_what_is_taken_out_leaves_all_else_as_it_is(names, gone, end):
    found = without(LEAVING.replace("\n", end), ("train", *names)).replace(end, "\n")
    assert found.replace(" ", "") == LEAVING.replace(gone, "").replace(" ", "")


def test_what_cannot_be_taken_out_is_told():
    with pytest.raises(EditProblem, match="not readable as TOML"):
        without("a = ", ("a",))
