"""Searching: the designs that no other beats in what is wanted, found by an optimiser, confirmed one by one."""
