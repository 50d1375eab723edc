"""Pictures of a year: one note, the compass, the rail."""

from keyaction.plots.seasons.compass_year import compass_year
from keyaction.plots.seasons.note_year import note_year
from keyaction.plots.seasons.rail_struck import rail_struck
from keyaction.plots.seasons.rail_year import rail_year

__all__ = ["compass_year", "note_year", "rail_struck", "rail_year"]
