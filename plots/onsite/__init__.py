"""Pages for the work at the instrument: sheets to fill in, and what to turn; pictures of what was measured."""
