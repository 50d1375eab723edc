"""Lets the tests of this folder import its helpers and the short case of the tests of sim/ under any import mode."""

import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [path for path in (str(HERE), str(HERE.parent / "sim")) if path not in sys.path]
