"""What is wrong with members, rail and season: each is named with its place, all of them at once."""

import pytest
from framed import BARE, BEARER, POSTS, RAIL, SEASON, YEAR, wrong

STEEL = """
[[member]]
name = "{name}"
material = "steel"
length = "1 m"
towards = "up"
{more}
"""


def steel(name, more=""):
    return STEEL.format(name=name, more=more)


BAD = {
    "wood without grain": (
        POSTS.replace('grain = "along"\n', ""),
        "[[member]] posts, field 'grain': missing; wood moves far more across its grain than along it; allowed: along, "
        "radial, tangential",
    ),
    "no such grain": (
        POSTS.replace('"along"', '"across"'),
        "[[member]] posts, field 'grain' = \"across\": unknown choice; known: along, radial, tangential; allowed: "
        "along, "
        "radial, tangential",
    ),
    "grain of metal": (
        steel("bar", 'grain = "along"\ncarries = ["key"]'),
        "[[member]] bar, field 'grain' = \"along\": steel is no wood and has no grain; leave it out",
    ),
    "of cloth": (
        steel("bar").replace("steel", "pallet-felt"),
        "[[member]] bar, field 'material' = \"pallet-felt\": pallet-felt is of the kind 'cloth', and a member is of "
        "wood, "
        "composite, metal",
    ),
    "thickness missing": (
        POSTS.replace('thickness = "60 mm"\n', ""),
        "[[member]] posts, field 'thickness': missing; how slowly wood follows the air hangs on it; give it, or "
        "else a lag",
    ),
    "no such finish": (
        POSTS.replace("shellac-3", "shelac-3"),
        "[[member]] posts, field 'finish' = \"shelac-3\": unknown finish; did you mean 'shellac-3'?",
    ),
    "three faces": (POSTS.replace("faces = 1", "faces = 3"), "field 'faces' = 3: out of range; allowed: 1 to 2"),
    "length below 0": (
        POSTS.replace('C4 = "1.4 m"', 'C4 = "-1.4 m"'),
        "[[member]] posts, field 'length.C4' = \"-1.4 m\": out of range; allowed: 0.1 mm to 20000 mm",
    ),
    "length missing": (steel("bar").replace('length = "1 m"\n', ""), "[[member]] bar, field 'length': missing"),
    "towards missing": (steel("bar").replace('towards = "up"\n', ""), "[[member]] bar, field 'towards': missing"),
    "towards unknown": (
        steel("bar").replace('"up"', '"upp"'),
        "[[member]] bar, field 'towards' = \"upp\": unknown choice; did you mean 'up'?; allowed: up, down, "
        "back, front, "
        "right, left",
    ),
    "carries an unknown part": (
        steel("bar", 'carries = ["lower-squares"]'),
        "[[member]] bar, field 'carries' = \"lower-squares\": no part of the train has this name; did you mean "
        "'lower-square'?",
    ),
    "carries no list": (
        steel("bar", 'carries = "key"'),
        '[[member]] bar, field \'carries\' = "key": a list of names is needed, such as ["roller", "pallet"]',
    ),
    "carries a rod": (
        steel("bar", 'carries = ["riser"]'),
        "[[member]] bar, field 'carries' = \"riser\": a rod has no axis; riser.start or riser.end is its hook "
        "nearer the "
        "key or nearer the pallet",
    ),
    "carries a groove": (
        steel("bar", 'carries = ["groove"]'),
        "[[member]] bar, field 'carries' = \"groove\": a groove has no axis of its own; known: key",
    ),
    "carried by two": (
        POSTS + steel("bar", 'carries = ["roller"]'),
        "[[member]] bar, field 'carries' = \"roller\": the member 'posts' carries it already; one member carries a "
        "part",
    ),
    "carried twice": (
        steel("bar", 'carries = ["key", "key"]'),
        "[[member]] bar, field 'carries' = \"key\": named twice",
    ),
    "axis and hook": (
        steel("bar", 'carries = ["key", "riser.start"]'),
        "[[member]] bar, field 'carries' = \"riser.start\": goes with its own part, and this member carries the "
        "axis of "
        "key; give each a member of its own",
    ),
    "hook on what does not carry its part": (
        POSTS + steel("pin", 'on = "posts"\ncarries = ["riser.start"]'),
        "[[member]] pin, field 'on' = \"posts\": goes with key, which 'posts' does not carry: leave `on` out, and it "
        "stands on its part",
    ),
    "on nothing": (
        POSTS + steel("bar", 'on = "post"'),
        "[[member]] bar, field 'on' = \"post\": no member of this name to stand on; did you mean 'posts'?",
    ),
    "in a circle": (
        steel("a", 'on = "b"') + steel("b", 'on = "c"') + steel("c", 'on = "a"'),
        "[[member]] a, field 'on': stands on itself in a circle: a on b on c on a; one of them stands on the floor",
    ),
    "on itself": (steel("a", 'on = "a"'), "[[member]] a, field 'on': stands on itself in a circle: a on a; one of"),
    "named twice": (
        POSTS + steel("posts"),
        "[[member]] posts, field 'name' = \"posts\": named twice; names of members must differ",
    ),
    "named as a part": (
        steel("roller"),
        "[[member]] roller, field 'name' = \"roller\": a part of the train has this name; names must differ",
    ),
    "named floor": (steel("floor"), "field 'name' = \"floor\": this name means something else"),
    "named oddly": (steel("a.b"), "field 'name' = \"a.b\": a name begins with a letter"),
    "no name": (
        steel("x").replace('name = "x"\n', ""),
        "[[member]] number 1, field 'name': missing; each member has a",
    ),
    "unknown field": (
        steel("bar", 'carrys = ["key"]'),
        "[[member]] bar, field 'carrys' = [1 values]: unknown field; did you mean 'carries'?",
    ),
    "single brackets": (
        '[member]\nname = "posts"\n',
        "[[member]]: each member needs a table of its own, headed [[member]]",
    ),
    "rail of no lever": (
        RAIL.replace('["lower-square"]', "[]"),
        "[rail], field 'carries': empty; a rail carries the levers that ride on it; known: lower-square, upper-square",
    ),
    "rail without carries": (
        RAIL.replace('carries = ["lower-square"]\n', ""),
        "[rail], field 'carries': missing; a rail carries the levers that ride on it; known: lower-square, "
        "upper-square",
    ),
    "a roller on the rail": (
        RAIL.replace("lower-square", "roller"),
        "[rail], field 'carries' = \"roller\": is a roller; only squares and backfalls ride on a floating rail; known: "
        "lower-square, upper-square",
    ),
    "a key on the rail": (
        RAIL.replace("lower-square", "key"),
        "[rail], field 'carries' = \"key\": is a key; only squares",
    ),
    "a pallet on the rail": (
        RAIL.replace("lower-square", "pallet"),
        "'carries' = \"pallet\": is a pallet; only squares",
    ),
    "an unknown lever": (
        RAIL.replace("lower-square", "lower-squre"),
        "[rail], field 'carries' = \"lower-squre\": no part of the train has this name; did you mean 'lower-square'?",
    ),
    "drawn the wrong way": (
        RAIL.replace('"down"', '"up"') + 'load = "20 N"\n',
        "[rail], field 'towards' = \"up\": drawn that way it slackens the rods of C3 to C4; it takes up their slack "
        "towards: down or front",
    ),
    "drawn aside": (
        RAIL.replace('"down"', '"left"') + 'load = "20 N"\n',
        "[rail], field 'towards' = \"left\": drawn that way it does not draw at the rods of C3 to C4; it takes up "
        "their "
        "slack towards: down or front",
    ),
    "no load": (
        RAIL.replace('"down"', '"front"'),
        "[rail], field 'load': missing; a rail that goes front is not drawn there by its weight, but by a weight or a "
        "spring",
    ),
    "no mass": (RAIL.replace('mass = "2.4 kg"\n', ""), "[rail], field 'mass': missing"),
    "zero mass": (RAIL.replace("2.4 kg", "0 kg"), "[rail], field 'mass' = \"0 kg\": out of range; allowed: 3 g to"),
    "ahead below 0": (RAIL + 'ahead = "-1 mm"\n', "field 'ahead' = \"-1 mm\": out of range; allowed: 0 mm to 100 mm"),
    "behind below 0": (
        RAIL + 'behind = "-1 mm"\n',
        "field 'behind' = \"-1 mm\": out of range; allowed: 0 mm to 100 mm",
    ),
    "lag below 0": (
        POSTS.replace('thickness = "60 mm"', 'lag = "-1 s"'),
        "[[member]] posts, field 'lag' = \"-1 s\": out of range; allowed: 0.001 day to 7300 day",
    ),
    "lag of a length": (
        POSTS.replace('thickness = "60 mm"', 'lag = "60 mm"'),
        "'60 mm' is a length; a lag is needed, e.g. '20 day'",
    ),
    "two rails": (
        RAIL.replace("[rail]", "[[rail]]"),
        "[rail] = [1 values]: a table is needed: [rail]; an action case has",
    ),
    "damper than full": (
        '[season]\nhumidity = "104 %"\n',
        "[season], field 'humidity' = \"104 %\": out of range; allowed: 0.05 to 0.95",
    ),
    "colder than the equation": (
        '[season]\ntemperature = "-3 degC"\n',
        "[season], field 'temperature' = \"-3 degC\": out of range; allowed: -1.1 °C to 60 °C",
    ),
    "no such climate": ('[season]\nclimate = "yaer.csv"\n', "[season], field 'climate' = \"yaer.csv\": no such file"),
    "a climate elsewhere": ('[season]\nclimate = "../year.csv"\n', "a CSV file must lie beside the case"),
    "no such rod finish": (
        '[season]\nrod_finish = "gold"\n',
        "[season], field 'rod_finish' = \"gold\": unknown finish",
    ),
}


@pytest.mark.parametrize(("tables", "told"), BAD.values(), ids=BAD)
def test_one_thing_wrong_is_one_line_that_names_it(tmp_path, tables, told):
    (line,) = wrong(tmp_path, tables)
    assert line.startswith("squares.toml: ")
    assert told in line


@pytest.mark.parametrize(
    ("year", "told"),
    [
        (YEAR.replace("2025-01-02,19,52\n", ""), "year.csv: "),
        (YEAR.replace("19,52", "19,104"), "year.csv: line 4"),
        (YEAR.replace("19,52", "19,"), "year.csv: line 4"),
    ],
    ids=["a gap", "humidity over 100 %", "an empty cell"],
)
def test_a_climate_with_something_wrong_is_named_by_its_line(tmp_path, year, told):
    (line,) = wrong(tmp_path, SEASON, year)
    assert line.startswith(told)


def test_a_rail_in_a_train_without_any_square(tmp_path):
    bare = BARE.replace('part = "square"', 'part = "roller"')
    told = [line for line in wrong(tmp_path, RAIL, bare=bare) if "[rail]" in line]
    assert "squares.toml: [rail], field 'carries': the train has no square and no backfall" in told[0]


def test_the_boxs_air_out_of_the_equations_range_is_told(tmp_path):
    (line,) = wrong(tmp_path, POSTS, bare=BARE.replace('humidity = "50 %"', 'humidity = "97 %"'))
    assert line == (
        "squares.toml: [season], field 'humidity': not given, and that of box is 0.97: out of range; allowed: 0.05 to "
        "0.95"
    )


def test_all_of_them_are_told_at_once(tmp_path):
    tables = POSTS.replace('grain = "along"\n', "") + BEARER.replace('"pallet"', '"palet"')
    tables += RAIL.replace("lower-square", "roller") + '[season]\nhumidity = "104 %"\n'
    assert len(wrong(tmp_path, tables)) == 4
