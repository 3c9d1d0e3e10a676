"""The compiled step keeps its vectorised loops: at least 30 times its NumPy twin at 150 cells.

Time of this thread, best of several, both in one process; 100 to 160 were seen with four numbers to a vector.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "benchmarks"))
import ducts


def test_step__thirty_times_numpy():
    best = ducts.rates({"ours": ducts.ours(150), "twin": ducts.twin(150)}, 150, repeats=5)
    assert best["ours"] > 30.0 * best["twin"]
