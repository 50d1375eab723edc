"""The key frame raised under keys that stand on a pin: rests, pins and bottom go up, the run hangs where it hung."""

from __future__ import annotations

from keyaction.models.train.train import Train
from keyaction.sim.measuring.knobs import knobs
from keyaction.sim.tightening.refer import standing_rod, strand, ways


def raised(train: Train) -> dict[str, float]:
    """Amounts by kind of `keyaction.sim.measuring.knobs.KINDS` per m by which the frame stands higher.

    A key turned up at its front by the rest felt lowers its tail by the ratio of its arms; one that is lifted as a
    whole raises it by as much as the front. The run is tighter by both.

    Parameters
    ----------
    train : Train
        Of a single note.

    Returns
    -------
    dict of str to float
        Empty where the key hangs on its run, or lacks what would be moved.
    """
    balanced = next(one.shape[0] for one in train.structure if one.name == train.key.name) == 1
    if not balanced or not {"rest", "bottom", "nut"} <= {one.kind for one in knobs(train)}:
        return {}
    every, stands = ways(train), standing_rod(train)
    arms = abs(every[strand(train)[0]])
    return {"rest": 1.0, "bottom": -1.0, "nut": -(1.0 + arms) * abs(every[stands]) / arms}
