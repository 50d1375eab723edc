"""How uncertain the fields of parts are: a part of each spread common to a manual, a part of each note's own."""
