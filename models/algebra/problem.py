"""What is wrong with dimensions and outlets; stands apart so that who only catches it loads no SymPy."""


class DimensionProblem(ValueError):
    """An expression whose terms do not agree; names both dimensions in words."""


class OutletProblem(ValueError):
    """A rod leads on from an outlet that the part does not have, or a coupler takes hold where there is none."""
