"""The workbench: one note of a case with some of its fields moved, what it shows at once, and how that is kept."""
