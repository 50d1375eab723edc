"""Historic material: what a piece of work does to it, and what a case says of its parts."""
