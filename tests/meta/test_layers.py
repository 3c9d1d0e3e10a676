"""The contracts of pyproject.toml: dependencies point one way, kernels stay alone, plotting and Numba have one door."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_import_contracts() -> None:
    command = [str(Path(sys.executable).with_name("lint-imports")), "--no-cache"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def _loaded(code: str, *names: str) -> set[str]:
    script = f"import sys\n{code}\nprint(*[n for n in {names!r} if n in sys.modules])"
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    return set(done.stdout.split("\n")[-2].split())


HEAVY = ("numba", "cantera", "nicegui", "matplotlib", "plotly", "scipy", "polars")


def test_help__imports_nothing_heavy() -> None:
    code = "from typer.testing import CliRunner; from spoolwright.cli import app; CliRunner().invoke(app, ['--help'])"
    assert _loaded(code, *HEAVY) == set()


def test_check__imports_nothing_heavy(tmp_path: Path) -> None:
    code = (
        "from typer.testing import CliRunner; from spoolwright.cli import app\n"
        "from spoolwright.sheet import demo_folder\n"
        "done = CliRunner().invoke(app, ['check', str(demo_folder('wren'))])\n"
        "assert done.exit_code == 0, done.output"
    )
    assert _loaded(code, *HEAVY) == set()


def test_sums__import_nothing_heavy() -> None:
    assert _loaded("from spoolwright.sums.registry import all_sums; all_sums()", *HEAVY) == set()
