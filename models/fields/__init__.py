"""Declared fields of a part, and a part's values for one note."""
