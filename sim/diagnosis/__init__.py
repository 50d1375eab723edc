"""From what was measured at the keys to what is wrong: faults as changes of the train, weighed against each other."""
