"""What a sweep takes unless something else is asked for."""

import pytest
from small_study import small

from keyaction.sim.sweep.designs import recipe_of
from keyaction.sim.sweep.manifest import manifest
from keyaction.sim.sweep.results import blocks_of


@pytest.mark.parametrize(("designs", "judged"), [(2, 2), (5, 5), (896, 5), (10_000, 16), (1_000_000, 166)])
def test_the_designs_that_are_judged_grow_with_the_study_and_are_spread_over_it(tmp_path, designs, judged):
    study = small(tmp_path, f'plan = "random"\ndesigns = {designs}')
    blocks = blocks_of(manifest(study, recipe_of(study), None)).judged
    assert sum(blocks.values()) == judged
    held = blocks_of(manifest(study, recipe_of(study), None))
    assert {0, len(held) - 1} <= set(blocks)
    assert sum(blocks_of(manifest(study, recipe_of(study), 3)).judged.values()) == 3
