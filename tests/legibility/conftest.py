"""What the tests of this folder share stands in legibility_subjects.py."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
