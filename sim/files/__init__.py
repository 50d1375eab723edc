"""Files written whole or not at all: text, folders, HDF5 with labelled axes."""
