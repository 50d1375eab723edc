"""The reader of an action case: its text to the fields of every part of every note."""
