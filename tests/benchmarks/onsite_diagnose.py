"""How often `diagnose` finds what was planted: faults in notes of three kinds of action, read with errors. By hand.

    python tests/benchmarks/onsite_diagnose.py [--sheets 20] [--film] [--kinds demo-wood,...] [--rough]

Every fault is planted in one note of a sheet of a dozen, the others sound: exactly as drawn, or, with --rough,
scattered as in a well regulated action. Readings have the errors of a balance (2 gf) and a ruler (0.2 mm); with --film
lengths are read off a film, 0.5 mm. Sizes are what is usual of a fault (`KINDS`), or
more where no figure moved by three errors.

What notes share is planted in all of them, or in those of one side of the chest, and counts as found where it stands
first (or second) among the shared causes; sizes are the least at which the notes' mean of a figure moves by `MEAN`
errors of one reading. "Alone" counts the sheets in which no single note was told as faulty besides.

"First or sharing" counts the sheets in which the planted cause comes first or shares the first place, because the
figures do not part the two (`keyaction.sim.diagnosis.parted`); how many share the place, the first among them, is the
mean.

Seen, clean sheets, `--only one,two,none --sheets 6`: first, first or sharing, second at worst, of all; how many share;
two at once, both among the first three; nothing found where nothing is planted.
    sticker-backfall     107 114 114 of 114; 1.27    10 of 12    12 of 12
    demo-wood            114 120 120 of 120; 1.22    12 of 12    12 of 12
    hung-rollers         100 114 114 of 114; 1.32    11 of 12    12 of 12
    all                  321 348 348 of 348          33 of 36    36 of 36

Not first: a light front (3 of 18: spring), a heavy one of hung-rollers (0 of 6: spring), a soft run of sticker-backfall
(3 of 6: nut), a hard bottom (5 of 6 of demo-wood, 4 of 6 of hung-rollers: nut or leak). With --rough, demo-wood, 3
sheets: 50, 60 and 57 of 60, 1.98 share; nothing found 6 of 6.

Why: the likelihood is for the planted one or about as good, custom decides. A light front lies up to 2.2 errors nearer
than a strong spring in demo-wood, in one of six sheets 0.5 farther (a heavy one 3.7 to 5.8 nearer than a weak spring,
and is parted); in hung-rollers 1.5 or less either way. Hard bottoms and soft runs are planted so small that one figure
moves by three errors: there the errors of reading decide.

Shared, `--only shared --sheets 8`, four sheets each: first, first or sharing, second at worst, no single note blamed
besides, of all: demo-wood 120, 128, 128, 132 of 132; sticker-backfall 108, 117, 117, 123 of 124; hung-rollers 98, 109,
110, 119 of 120. Not first: wide and narrow seals, which share the first place with the wind until the pressure is read;
rails and rods, which mostly share it, all runs of a dozen notes being about as long; and what one side of the chest
shares: more rubbing (2 of 12 told), low wind in sticker-backfall (2 of 4); less rubbing in hung-rollers (1 of 4). Fewer
stops are never seen at the key.
"""

import argparse
import math
import time
from collections import Counter
from dataclasses import dataclass

import numpy as np

import keyaction as ka
from keyaction.cases.action.trains import check_trains
from keyaction.models.readings.figures import NAMES
from keyaction.models.readings.readings import Head
from keyaction.sim.diagnosis.candidates import DATUM, on_side
from keyaction.sim.diagnosis.diagnosis import answers_for, diagnose
from keyaction.sim.diagnosis.faults import COMMON, FAULTS
from keyaction.sim.measuring.computed import Computed, computed, drawn_levels
from keyaction.sim.measuring.knobs import KINDS, changed, knobs
from keyaction.sim.measuring.synthetic import read_off

ACTIONS = {
    "demo-wood": ("demo-wood", range(56, 68), (57, 62, 66)),
    "hung-rollers": ("cases/kinds/hung-rollers.toml", range(48, 61), (49, 54, 59)),
    "sticker-backfall": ("cases/kinds/sticker-backfall.toml", range(60, 72), (61, 65, 70)),
}
"""Case, notes measured, notes in which faults are planted."""
SIZES = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0)
"""In what is usual of a fault: the first that moves a figure by `SEEN` errors is planted."""
SEEN = 3.0
MEAN = 1.0
DAMP = 0.75
"""Humidity of the sheets with swollen guides, which are planted in three notes at once."""


@dataclass
class Row:
    """One fault of one action: counts of what came out."""

    size: str
    first: int = 0
    shares: int = 0
    sharing: int = 0
    second: int = 0
    first_named: int = 0
    told: int = 0
    sheets: int = 0
    instead: Counter = None

    @property
    def counts(self):
        """In a line."""
        share = self.sharing / self.sheets if self.sheets else math.nan
        counted = (self.first, self.shares, self.second, self.first_named, self.told)
        return f"{' '.join(f'{one:3}' for one in counted)} of {self.sheets:3}; {share:.2f}"

    @classmethod
    def pooled(cls, rows):
        """All faults of an action."""
        names = ("first", "shares", "sharing", "second", "first_named", "told", "sheets")
        return cls("", **{name: sum(getattr(row, name) for row in rows) for name in names})


def prepared(name):
    """Trains, levels and answers of an action, computed once."""
    case, notes, chosen = ACTIONS[name]
    found = ka.read_case(case)
    trains = check_trains(found, list(notes))
    level = drawn_levels(list(trains.values()), found.strokes)
    plain = computed(list(trains.values()), found.strokes).from_level(level)
    answers = answers_for(trains, read_off(list(trains), plain, 0), found.strokes)
    return found, trains, level, plain, answers, chosen


def planted(trains, level, strokes, note, faults):
    """Figures of one note with faults: (kind, part, amount) each."""
    train = trains[note]
    turned = [(next(k for k in knobs(train) if k.kind == kind and part in ("", k.part)), x) for kind, part, x in faults]
    i = list(trains).index(note)
    return computed([changed(train, turned)], strokes).from_level(level[i])


def put(plain, at, found):
    """A sheet's figures with some notes replaced."""
    values, verdicts = plain.values.copy(), list(plain.verdicts)
    for i, one in zip(at, found, strict=True):
        values[i], verdicts[i] = one.values[0], one.verdicts[0]
    return Computed(values, tuple(verdicts), plain.failed)


def scattered(plain, answers, random):
    """Every note off by what a good regulation leaves, in proportion to the rises."""
    values = plain.values.copy()
    for i, note in enumerate(answers.notes):
        good = np.array([knob.about.good for knob in answers.knobs[note]])
        values[i] += (random.normal(size=len(good)) * good) @ answers.rises(note)
    return Computed(values, plain.verdicts, plain.failed)


def size_of(plain, trains, level, strokes, note, fault, part, head):
    """The size that is planted, and the note's figures with it."""
    error = np.array([head.error(figure) for figure in NAMES])
    before = plain.values[list(trains).index(note)]
    about = KINDS[fault.kind]
    for size in SIZES:
        amount = float(np.clip(fault.sign * size * about.usual, about.low, about.high))
        found = planted(trains, level, strokes, note, [(fault.kind, part, amount)])
        moved = np.abs(found.values[0] - before) / error
        gone = np.any(np.isnan(found.values[0]) & np.isfinite(before))
        if gone or np.nanmax(moved) >= SEEN:
            return size, amount, found
    return None


def one_fault(name, ready, sheets, head, rough):
    """A row for every fault of the table, printed as it comes."""
    case, trains, level, plain, answers, chosen = ready
    for f, fault in enumerate(FAULTS.values()):
        parts = {knob.part for knob in knobs(trains[chosen[0]]) if knob.kind == fault.kind}
        if not parts:
            continue
        row = Row("", instead=Counter())
        for p, note in enumerate(chosen):
            part = sorted(parts)[p % len(parts)]
            sized = size_of(plain, trains, level, case.strokes, note, fault, part, Head())
            if sized is None:
                continue
            size, amount, found = sized
            row.size = f"{size:g}" if row.size in ("", f"{size:g}") else f"{row.size.partition('-')[0]}-{size:g}"
            damp = fault.name == "swollen-guide"
            for seed in range(sheets // len(chosen)):
                random = np.random.default_rng([f, p, seed, len(name)])
                sound = scattered(plain, answers, random) if rough else plain
                sheet = put(sound, [list(trains).index(note)], [moved(found, sound, plain, trains, note)])
                if damp:  # the other two notes swell as well
                    for other in chosen:
                        if other != note:
                            more = planted(trains, level, case.strokes, other, [("guide", "", amount)])
                            sheet = put(sheet, [list(trains).index(other)], [more])
                air = Head(ruler=head.ruler, balance=head.balance, humidity=DAMP if damp else 0.5)
                count(row, fault, diagnose(answers, read_off(list(trains), sheet, random, air)), note)
        if not row.sheets:
            row.size = "never seen"
        print(f"{fault.name:13} size {row.size:7} {row.counts}  {dict(row.instead) or ''}", flush=True)
        yield row


def moved(found, sound, plain, trains, note):
    """The faulty note with the scatter of its sheet."""
    i = list(trains).index(note)
    return Computed(found.values + (sound.values[i] - plain.values[i]), found.verdicts, found.failed)


def count(row, fault, told, note):
    one = next(one for one in told.found if one.note == note)
    names = [cause.name for cause in one.causes]
    row.sheets += 1
    row.told += one.faulty
    row.first += bool(names) and names[0] == fault.cause
    also = [named.hypothesis.fault.cause for named in one.sharing]
    row.shares += fault.cause in [*names[:1], *also]
    row.sharing += 1 + len(also)
    row.second += fault.cause in names[:2]
    row.first_named += bool(names) and one.causes[0].faults[0].hypothesis.fault.name == fault.name
    if one.misread:
        row.instead[f"(read {one.misread} again)"] += 1
    elif not names or names[0] != fault.cause:
        row.instead[names[0] if names else "(none)"] += 1


def two_faults(name, ready, sheets, head, rough):
    """Both of two faults among the first three."""
    case, trains, level, plain, answers, chosen = ready
    random = np.random.default_rng([7, len(name)])
    there = {knob.kind for knob in knobs(trains[chosen[0]])}
    pool = [one for one in FAULTS.values() if one.kind in there and one.weight >= 2.0]
    both, missed = 0, Counter()
    done = 0
    while done < sheets:
        note = int(random.choice(chosen))
        a, b = (pool[i] for i in random.choice(len(pool), 2, replace=False))
        if a.cause == b.cause:
            continue
        sized = [size_of(plain, trains, level, case.strokes, note, one, "", Head()) for one in (a, b)]
        if None in sized:
            continue
        found = planted(
            trains, level, case.strokes, note, [(x.kind, "", s[1]) for x, s in zip((a, b), sized, strict=True)]
        )
        sound = scattered(plain, answers, random) if rough else plain
        sheet = put(sound, [list(trains).index(note)], [moved(found, sound, plain, trains, note)])
        told = diagnose(answers, read_off(list(trains), sheet, random, head))
        one = next(one for one in told.found if one.note == note)
        names = [cause.name for cause in one.causes[:3]]
        good = a.cause in names and b.cause in names
        both += good
        if not good:
            missed[f"{a.name} + {b.name}: {', '.join(names)} {found.speech[0]}"] += 1
        done += 1
    return both, done, missed


SWOLLEN = ("swollen-guides", "guide", 1, "all rub")
"""Guides of all pallets swollen: no cause of the table, but all that rubs."""
ONE_SIDE = ("low-wind", "rail-loose", "rail-tight", "rubs-more")
"""Planted on one side of the chest too."""


def shared_faults(name, ready, sheets, rough, words):
    """A row for everything that notes can share."""
    _, trains, _, plain, answers, _ = ready
    first = trains[answers.notes[0]]
    drawn = first.value(first.role("box").name, "p_box")
    kinds = {*answers.kinds, ""}
    asked = [(one.name, one.kind, one.sign, one.cause, "") for one in COMMON if one.kind in kinds]
    asked += [(f"{one.name}, C side", one.kind, one.sign, one.cause, "C") for one in COMMON if one.name in ONE_SIDE]
    asked += [(*SWOLLEN, "")] if "guide" in kinds else []
    asked += [(f"{one.name}, read", one.kind, one.sign, one.cause, "") for one in COMMON if one.kind == "seal"]
    pooled = np.zeros(6, dtype=int)
    for f, (title, kind, sign, cause, side) in enumerate(asked):
        if not title.startswith(tuple(words.split(","))):
            continue
        size, values, verdicts = planted_in_all(answers, plain, kind, sign, side)
        if not size:
            print(f"{title:22} never seen")
            continue
        air = Head(humidity=0.5, pressure=drawn if title.endswith(", read") else math.nan)
        counts = np.zeros(5, dtype=int)  # first, first or sharing, second, alone; how many share
        shares = []
        instead = Counter()
        for seed in range(sheets):
            random = np.random.default_rng([f, seed, len(name), 5])
            sound = scattered(plain, answers, random) if rough else plain
            sheet = Computed(values + sound.values - plain.values, verdicts, plain.failed)
            told = diagnose(answers, read_off(list(trains), sheet, random, air))
            ranked = list(dict.fromkeys(one.cause for one in told.base.steps[0].ranked)) if told.base.steps else []
            also = [one.cause for one in told.base.steps[0].sharing] if told.base.steps else []
            right = (cause, side)
            alone = not any(one.faulty for one in told.found)
            counts += [ranked[:1] == [right], right in [*ranked[:1], *also], right in ranked[:2], alone, 1 + len(also)]
            if ranked[:1] == [(cause, side)] and told.base.steps[0].found.fault.kind == kind:
                usual = KINDS[kind].usual if kind else DATUM
                shares.append(told.base.steps[0].found.amount / (sign * size * usual))
            if ranked[:1] != [(cause, side)]:
                instead[" ".join(ranked[0]).strip() if ranked else "(none)"] += 1
        amount = f"{np.mean(shares) if shares else math.nan:5.2f}"
        counted = f"{' '.join(f'{one:3}' for one in counts[:4])} of {sheets:3}; {counts[4] / sheets:.2f}"
        print(f"{title:22} size {size:<4g} {counted}  {amount}  {dict(instead) or ''}", flush=True)
        pooled += [*counts, sheets]
    print(f"{'all':32} {' '.join(f'{one:3}' for one in pooled[:4])} of {pooled[5]:3}; {pooled[4] / pooled[5]:.2f}")


def planted_in_all(answers, plain, kind, sign, side):
    """The size of what notes share, and their figures with it."""
    error = np.array([Head().error(figure) for figure in NAMES])
    there = np.flatnonzero(on_side(side, answers.notes)) if side else np.arange(len(answers.notes))
    for size in SIZES:
        values, verdicts = plain.values.copy(), list(plain.verdicts)
        if kind:
            about = KINDS[kind]
            amount = float(np.clip(sign * size * about.usual, about.low, about.high))
            found = answers.all_at([(kind, amount)], [answers.notes[i] for i in there])
            values[there] = found.values
            for i, verdict in zip(there, found.verdicts, strict=True):
                verdicts[i] = verdict
        else:
            values[there, NAMES.index("level")] += sign * size * DATUM
        away = np.abs(np.mean((values - plain.values)[there] / error, axis=0))
        if np.any(np.isnan(values) & np.isfinite(plain.values)) or np.nanmax(away) >= MEAN:
            return size, values, tuple(verdicts)
    return 0, plain.values, plain.verdicts


def none_planted(ready, sheets, head, rough):
    """Sheets of which nothing is told."""
    _, trains, _, plain, answers, _ = ready
    found = []
    for seed in range(sheets):
        random = np.random.default_rng([99, seed, len(trains)])
        sheet = scattered(plain, answers, random) if rough else plain
        told = diagnose(answers, read_off(list(trains), sheet, random, head))
        found.append(told.nothing)
        if not told.nothing:
            print(
                "   ",
                [s.found.fault.name for s in told.base.steps],
                told.drifts,
                [(one.note, [c.name for c in one.causes[:2]]) for one in told.found if one.faulty],
            )
    return sum(found), len(found)


LOW_RESTS = -1.5e-3
"""m: rests so low that play and weights are lost, which takes the most presses."""


def speed(sheets, head, rough):
    """All 56 notes: time of a first diagnosis with a shared cause or three faults; sheets of which nothing is told."""
    found = ka.read_case("demo-wood")
    trains = check_trains(found, list(found.compass))
    level = drawn_levels(list(trains.values()), found.strokes)
    plain = computed(list(trains.values()), found.strokes).from_level(level)
    faults = {40: ("friction", 0.3), 60: ("spring", -0.35), 80: ("nut", 1e-3)}
    hit = [planted(trains, level, found.strokes, note, [(kind, "", x)]) for note, (kind, x) in faults.items()]
    three = put(plain, [list(trains).index(note) for note in faults], hit)
    low = answers_for(trains, read_off(list(trains), plain, 0), found.strokes).all_at([("rest", LOW_RESTS)])
    for title, sheet in (("low rests of all", low), ("three faults", three)):
        read = read_off(list(trains), sheet, 1, head)
        start, busy = time.time(), time.process_time()
        told = diagnose(answers_for(trains, read, found.strokes), read)
        shared = [(step.found.fault.name, round(1e3 * step.found.amount, 2)) for step in told.base.steps]
        print(
            f"56 notes, {title}: {time.time() - start:.1f} s by the clock, {time.process_time() - busy:.1f} s of "
            f"processor; told: {shared} {[(one.note, one.causes[0].name) for one in told.found if one.faulty]}",
            flush=True,
        )
    ready = found, trains, level, plain, told.answers, ()
    print("nothing planted, nothing found: {} of {}".format(*none_planted(ready, sheets, head, rough)), flush=True)


def main():
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--sheets", type=int, default=21)
    asked.add_argument("--kinds", default=",".join(ACTIONS))
    asked.add_argument("--film", action="store_true")
    asked.add_argument("--rough", action="store_true")
    asked.add_argument("--shared", default="", help="words that what is shared begins with, with commas")
    asked.add_argument("--only", default="one,two,none,shared", help="of: one, two, none, shared, speed")
    options = asked.parse_args()
    wanted = options.only.split(",")
    head = Head(ruler=0.5e-3) if options.film else Head()
    for name in options.kinds.split(","):
        start = time.time()
        ready = prepared(name)
        print(f"== {name}")
        if "none" in wanted:
            found, of = none_planted(ready, 2 * options.sheets, head, options.rough)
            print(f"nothing planted, nothing found: {found} of {of}", flush=True)
        if "speed" in wanted:
            speed(options.sheets, head, options.rough)
            continue
        if "one" in wanted:
            print("first, first or sharing its place, second at worst, first by name, told, of all; how many share:")
            rows = list(one_fault(name, ready, options.sheets, head, options.rough))
            print(f"{'all':26} {Row.pooled(rows).counts}", flush=True)
        if "shared" in wanted:
            print("shared by notes: first, first or sharing, second at worst, alone, of all; how many share; amount:")
            shared_faults(name, ready, options.sheets // 2, options.rough, options.shared)
        if "two" in wanted:
            both, of, missed = two_faults(name, ready, 2 * options.sheets, head, options.rough)
            print(f"two at once, both among the first three: {both} of {of}")
            for text in missed:
                print(f"    {text}")
        print(f"took {time.time() - start:.0f} s", flush=True)


if __name__ == "__main__":
    main()
