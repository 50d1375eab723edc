"""Pictures of a result: one file per figure, one house style."""

from keyaction.plots.budget import budgets
from keyaction.plots.budget_compass import budgets_compass
from keyaction.plots.feel import feel_curve
from keyaction.plots.motion import stroke
from keyaction.plots.over_compass import compass
from keyaction.plots.path import stroke_path
from keyaction.plots.save import save_all, usual_notes

__all__ = [
    "budgets",
    "budgets_compass",
    "compass",
    "feel_curve",
    "save_all",
    "stroke",
    "stroke_path",
    "usual_notes",
]
