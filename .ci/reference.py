"""Builds the reference pages of what `import keyaction` offers: ``python .ci/reference.py FOLDER``.

Needs ``pip install ".[docs]"``. Any warning of the builder is an error.
"""

import sys
import warnings
from pathlib import Path

import pdoc

import keyaction


def main() -> None:
    """Load every public name, for pdoc looks into the module without asking it, and write the pages."""
    if len(sys.argv) != 2:
        raise SystemExit("usage: python .ci/reference.py FOLDER")
    for name in keyaction.__all__:
        getattr(keyaction, name)
    warnings.simplefilter("error")
    pdoc.pdoc("keyaction", output_directory=Path(sys.argv[1]))


if __name__ == "__main__":
    main()
