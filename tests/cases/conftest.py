"""Lets the tests of this folder import `case_files` under any import mode."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
