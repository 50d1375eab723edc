"""Pictures of a result: one file per figure, one house style."""

from keyaction.plots.compass.budget_compass import budgets_compass
from keyaction.plots.compass.coupled_compass import coupled_compass
from keyaction.plots.compass.over_compass import compass
from keyaction.plots.note.budget import budgets
from keyaction.plots.note.feel import feel_curve, slow_press
from keyaction.plots.note.motion import stroke
from keyaction.plots.note.path import stroke_path
from keyaction.plots.save import save_all, usual_notes

__all__ = [
    "budgets",
    "budgets_compass",
    "compass",
    "coupled_compass",
    "feel_curve",
    "save_all",
    "slow_press",
    "stroke",
    "stroke_path",
    "usual_notes",
]
