"""The example scripts of the flow folder run and print their known answers."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

SCRIPTS = Path(__file__).parents[2] / "examples" / "scripts"


@pytest.mark.parametrize(
    ("script", "words"), [("shock_tube.py", "exact 0.30313"), ("quarter_wave_pipe.py", "Hz, known")]
)
def test_script__prints_beside_the_known_answer(script, words):
    done = subprocess.run([sys.executable, SCRIPTS / script], capture_output=True, text=True, check=True)
    assert words in done.stdout
    assert done.stderr == ""
