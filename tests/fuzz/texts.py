"""Spoilt cases, CSV files, studies, targets and option texts: ``python tests/fuzz/texts.py --seconds 60 --seed 1``."""

from __future__ import annotations

import random
import shutil
import tomllib
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from framed import BARE, BEARER, POSTS, RAIL, SEASON, YEAR
from harness import NothingToRefuse, command, run
from laid_case import laid_text
from mutations import document, other_size, places, spoil_bytes, spoil_data, spoil_text, word, written
from short_case import CHEST, NOTES, SHORT
from short_case import write_case as write_short
from small_instrument import LAYOUT, write_instrument
from small_study import text as study_text

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains, select
from keyaction.cases.instrument.reader import read_instrument
from keyaction.cases.measured.sheet import read_sheet
from keyaction.cases.measured.writing import written as sheet_text
from keyaction.cases.tuning.targets import FIELDS, pluck_option, read_targets
from keyaction.models.notes import NAMINGS
from keyaction.models.readings.figures import NAMES
from keyaction.sim.compare.rod_facts import parse_climate
from keyaction.sim.compare.variants import read_variants
from keyaction.sim.figures.verdict import UNASKED
from keyaction.sim.run.checking import warnings
from keyaction.sim.run.standings import Standing
from keyaction.sim.sweep.designs import make_design, recipe_of
from keyaction.sim.sweep.sweep import load_study, plan_of

MOST_NOTES = 14
"""Notes of a case whose trains are built; all commands build them in turn."""
ROWS = 6
SEASONS = BARE + POSTS + BEARER + RAIL + SEASON
HISTORIC = SHORT + '\n[historic]\nmade = "1780"\nparts = ["key", "pallet"]\nkeep = ["its leather"]\n'


@lru_cache(maxsize=1)
def _cases() -> tuple[str, ...]:
    """Texts that are spoilt: short cases, with layout or seasons too; the starting case; the demos, shortened."""
    room = files("keyaction.cases")
    start = room.joinpath("templates/start.toml").read_text("utf-8").replace("{title}", "start")
    texts = [start, *(room.joinpath(name).read_text("utf-8") for name in ("demo-wood.toml", "demo-carbon.toml"))]
    return (*(SHORT,) * 12, *(laid_text(),) * 4, *(SEASONS,) * 4, HISTORIC, *texts)


def _beside(folder: Path) -> None:
    (folder / "chest.csv").write_text(CHEST, "utf-8")
    (folder / "year.csv").write_text(YEAR, "utf-8")
    with files("keyaction.cases").joinpath("demo-chest.csv").open("rb") as source:
        (folder / "demo-chest.csv").write_bytes(source.read())


def use_case(case: Case, rng: random.Random) -> None:
    """As the commands do before they press a key: trains, warnings, what is told of them; `case_checked` presses."""
    trains = check_trains(case, rng.sample(list(case.compass), min(MOST_NOTES, len(case.compass))))
    warnings(case, {note: Standing(train, UNASKED, None) for note, train in trains.items()})
    str(case), [one.line for one in case.assumptions]


def case_data(rng: random.Random, folder: Path) -> None:
    """Values, tables and kinds of a case exchanged."""
    _beside(folder)
    data = spoil_data(rng, _data(rng.choice(_cases())))
    (folder / "some.toml").write_bytes(written(document(data)))
    use_case(read_case(folder / "some.toml"), rng)


@lru_cache(maxsize=32)
def _data(text: str) -> dict[str, Any]:
    return tomllib.loads(text)


def case_text(rng: random.Random, folder: Path) -> None:
    """Lines and bytes of a case spoilt."""
    _beside(folder)
    text = rng.choice(_cases())
    content = written(spoil_text(rng, text)) if rng.random() < 0.7 else spoil_bytes(rng, text.encode())
    (folder / "some.toml").write_bytes(content)
    use_case(read_case(folder / "some.toml"), rng)


def case_csv(rng: random.Random, folder: Path) -> None:
    """The CSV file beside a case spoilt."""
    (folder / "some.toml").write_text(SHORT, "utf-8")
    text = CHEST.replace(",", ";") if rng.random() < 0.05 else CHEST
    if rng.random() < 0.5:
        content = written(spoil_text(rng, text))
    elif rng.random() < 0.5:
        content = spoil_bytes(rng, text.encode())
    else:
        rows = [[note, str(250 + i)] for i, note in enumerate(NOTES)]
        for _ in range(rng.choice((1, 2, 5))):
            rng.choice(rows)[rng.randrange(2)] = word(rng)
        content = written("\n".join(["note,wire", *(",".join(row) for row in rows * rng.choice((1, 1, 1, 30)))]))
    (folder / "chest.csv").write_bytes(content)
    use_case(read_case(folder / "some.toml"), rng)


def case_checked(rng: random.Random, folder: Path) -> None:
    """The same through the command `check`."""
    _beside(folder)
    text = rng.choice(_cases())
    spoilt = document(spoil_data(rng, _data(text))) if rng.random() < 0.7 else spoil_text(rng, text)
    (folder / "some.toml").write_bytes(written(spoilt))
    note = ["--note", word(rng)] if rng.random() < 0.1 else []
    command("check", folder / "some.toml", *note)


def instrument(rng: random.Random, folder: Path) -> None:
    """An instrument spoilt, and now and then one of its cases too."""
    more = rng.choice(("", "", '\n[[division]]\nname = "III"\ncase = "great.toml"\nkeyboard = "I"\nshares = "great"\n'))
    path = write_instrument(folder, more=more)
    for name in ("great", "swell"):
        write_short(folder, more=LAYOUT, name=f"{name}.toml")
    if rng.random() < 0.2:
        case = folder / rng.choice(("great.toml", "swell.toml", "pedal.toml"))
        case.write_bytes(written(document(spoil_data(rng, _data(case.read_text("utf-8"))))))
    text = path.read_text("utf-8")
    spoilt = document(spoil_data(rng, _data(text))) if rng.random() < 0.7 else spoil_text(rng, text)
    path.write_bytes(written(spoilt))
    found = read_instrument(path)
    use_case(found.divisions[rng.choice(list(found.divisions))], rng)


def case_set(rng: random.Random, _: Path) -> None:
    """Values set from outside."""
    case, known = _short(), _fields()
    chosen: dict[Any, Any] = {}
    for _ in range(rng.choice((1, 1, 2, 4))):
        path = rng.choice(list(known))
        kind = rng.random()
        if kind < 0.6:
            chosen[path] = other_size(rng, known[path])
        elif kind < 0.8:
            chosen[rng.choice((path, "strokes.down", "materials.sitka-spruce.E", f"key.{word(rng)}"))] = word(rng)
        elif kind < 0.9:
            chosen[word(rng)] = word(rng)
        else:
            chosen[path] = rng.choice((1, 2.5, None, [], {}, True, object(), float("nan"), b"x", 1 + 1j))
    use_case(read_case(case.path, set_=chosen), rng)


@lru_cache(maxsize=1)
def _fields() -> dict[str, str]:
    """Fields of the short case with what it gives."""
    found = {}
    for table in _data(SHORT)["train"]:
        owner = table.get("name", table["part"])
        for container, key in places(table):
            if isinstance(container[key], str):
                inner = "" if container is table else next(f"{k}." for k, v in table.items() if v is container or (
                    isinstance(v, list) and container in v))  # fmt: skip
                found[f"{owner}.{inner}{key}"] = container[key]
    return found


@lru_cache(maxsize=1)
def _short() -> Case:
    import tempfile

    folder = Path(tempfile.mkdtemp(prefix="keyaction-fuzz-case-"))
    import atexit

    atexit.register(shutil.rmtree, folder, True)
    _beside(folder)
    (folder / "short.toml").write_text(SHORT, "utf-8")
    return read_case(folder / "short.toml")


_STUDIES = (
    study_text(),
    study_text('plan = "sobol"\nbase_points = 4'),
    study_text('plan = "tolerances"\ndesigns = 4', vary=""),
    study_text('plan = "morris"\ntrajectories = 3'),
    study_text(
        'plan = "grid"',
        vary='\n[[vary]]\nname = "rod"\n[vary.options.a]\npull-down = { diameter = "1 mm" }\n[vary.options."b c"]\n'
        'pull-down = { diameter = "2 mm", material = "music-wire" }\n\n[set]\nstrokes.down = "30 ms"\n',
    ),
)


def study(rng: random.Random, folder: Path) -> None:
    """A study spoilt, read, planned and its first designs built."""
    shutil.copytree(_short().path.parent, folder, dirs_exist_ok=True)
    text = rng.choice(_STUDIES)
    if rng.random() < 0.7:
        content = written(document(spoil_data(rng, _data(text))))
    else:
        content = written(spoil_text(rng, text)) if rng.random() < 0.7 else spoil_bytes(rng, text.encode())
    (folder / "some.toml").write_bytes(content)
    found = load_study(folder / "some.toml")
    plan, recipe = plan_of(found), recipe_of(found)
    for row in plan.rows(0, min(ROWS, plan.count)):
        make_design(recipe, row)


_TARGETS = (
    'pluck = { between = "linear", C4 = "150 gf", G4 = "120 gf" }\nwithin = "3 %"\nrepetition = "6 Hz"\nfeed = 3\n'
)


def targets(rng: random.Random, folder: Path) -> None:
    """A file of targets, or options in their place."""
    case = _short()
    if rng.random() < 0.6:
        text = _TARGETS
        content = document(spoil_data(rng, _data(text))) if rng.random() < 0.6 else spoil_text(rng, text)
        (folder / "some.toml").write_bytes(written(content))
        read_targets(case, list(case.compass), folder / "some.toml")
    usual = {"within": "3 %", "closing": "0.1 N", "return_time": "0.1 s", "repetition": "6 Hz", "feed": "3"}
    name = rng.choice(FIELDS).name
    given = {name: other_size(rng, usual[name]) if name in usual and rng.random() < 0.7 else word(rng)}
    texts = ("120 gf", "C4=150 gf, G4=120 gf", "even within 2 %", word(rng), f"C4={word(rng)}", f"even {word(rng)}")
    read_targets(case, list(case.compass), None, {**given, **pluck_option(rng.choice(texts))})


_SHEET = (
    "case,Some\ndate,2026-02-14\nhumidity,55 %\npressure (mmH2O),70\nnote names,scientific\n\n"
    'note,speech,level (mm),dip,play,pluck (gf),"pluck, wind off",remark\n'
    "C4,speaks,-0.4,9.5,0.6,4 oz,41,\nD4,weak,,9.3,,118,,worn\nD4,,,,,120 g,,again\n"
)


def sheet(rng: random.Random, folder: Path) -> None:
    """A sheet that was filled in, spoilt; what is read of it is taken apart."""
    text = _SHEET.replace(",", rng.choice(";\t")) if rng.random() < 0.2 else _SHEET
    kind = rng.random()
    if kind < 0.4:
        content = written(spoil_text(rng, text))
    elif kind < 0.6:
        content = spoil_bytes(rng, text.encode())
    else:
        lines = [line.split(",") for line in text.split("\n")]
        for _ in range(rng.choice((1, 2, 5))):
            row = rng.choice(lines)
            row[rng.randrange(len(row))] = word(rng)
        content = written("\n".join(",".join(row) for row in lines))
    (folder / "some.csv").write_bytes(content)
    case = _short()
    found = read_sheet(folder / "some.csv", case.compass, rng.choice(NAMINGS))
    found.values(), found.errors(), found.disagreements
    again = sheet_text(found, case.compass, NAMES, "german")
    (folder / "again.csv").write_text(again, "utf-8")
    assert read_sheet(folder / "again.csv", case.compass).notes == found.notes


def options(rng: random.Random, _: Path) -> None:
    """Texts of the command line: variants, notes, climates."""
    case = _short()
    kind = rng.randrange(3)
    if kind == 0:
        settings = [f"{rng.choice(('box.pressure', 'pallet.seat', word(rng)))}={word(rng)},{word(rng)}"]
        rods = [rng.choice(("case", "spruce", "carbon-rod", word(rng))) + rng.choice(("", "@2 mm", f"@{word(rng)}"))]
        path = "demo-wood" if rng.random() < 0.2 else case.path
        read_variants(path, rods * rng.randrange(2), settings * rng.randrange(3))
    elif kind == 1:
        select(case, rng.choice((word(rng), f"C4:{word(rng)}", f"C4:G4:{word(rng)}", f"C4,{word(rng)}")))
    else:
        try:
            parse_climate(rng.choice((word(rng), f"{word(rng)},{word(rng)}", "18 degC, 35 %")), "--winter")
        except ValueError as problem:
            raise NothingToRefuse(str(problem)) from problem


KINDS = {
    "case-data": case_data,
    "case-text": case_text,
    "case-csv": case_csv,
    "case-set": case_set,
    "case-checked": case_checked,
    "instrument": instrument,
    "study": study,
    "targets": targets,
    "sheet": sheet,
    "options": options,
}

if __name__ == "__main__":
    raise SystemExit(run(KINDS))
