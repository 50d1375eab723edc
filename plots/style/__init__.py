"""The house style: page, labels, readings."""
