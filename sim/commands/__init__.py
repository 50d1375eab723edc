"""The commands of the program, one file each: thin, they parse, call and print."""
