"""Blocks of small studies with some variety, and how far figures of blocks are apart."""

from dataclasses import replace

import numpy as np
from small_study import small

from keyaction.sim.sweep.blocks import Block, Task
from keyaction.sim.sweep.designs import recipe_of

VARIED = """
[[vary]]
field = "pallet-spring.force"
scale = [0.2, 1.6]
[[vary]]
field = "box.pressure"
values = ["0 mmH2O", "30 mmH2O", "110 mmH2O"]
[[vary]]
field = "pull-down.diameter"
values = ["1 mm", "2 mm"]
"""


def varied(folder, notes, more=VARIED, **changed):
    study = small(folder, 'plan = "random"\ndesigns = 8', more, head=f'notes = "{notes}"\n')
    return replace(recipe_of(study), **changed)


def tasks_of(recipe, sizes, judged=0):
    random, ends = np.random.default_rng(5), np.cumsum(sizes).tolist()
    cuts = zip([0, *ends], ends, strict=False)
    return [
        Task(Block(k, start, stop, judged if k == 0 else 0), random.random((stop - start, len(recipe.inputs))))
        for k, (start, stop) in enumerate(cuts)
    ]


def apart(ours, theirs):
    """The largest share by which figures of blocks differ; where one has none the other has none either."""
    worst = 0.0
    for first, second in zip(ours, theirs, strict=True):
        assert np.array_equal(np.isnan(first.values), np.isnan(second.values))
        assert np.array_equal(first.inputs, second.inputs)
        for name, words in first.words.items():
            assert words.texts() == second.words[name].texts(), name
        with np.errstate(all="ignore"):
            shares = np.abs(second.values - first.values) / np.maximum(np.abs(first.values), 1e-6)
        worst = max(worst, float(np.nanmax(shares, initial=0.0)))
    return worst
