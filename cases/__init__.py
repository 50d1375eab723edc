"""Case files: reading, checking, and the cases that ship with the program."""
