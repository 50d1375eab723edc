"""What comes back from an instrument: sheets that were filled in there."""
