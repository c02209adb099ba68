"""The reference tests share the kits and wards of the rules' tests."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "rules"))
