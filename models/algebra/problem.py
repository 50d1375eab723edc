"""What is wrong with an expression's dimension; stands apart so that who only catches it loads no SymPy."""


class DimensionProblem(ValueError):
    """An expression whose terms do not agree; names both dimensions in words."""
