"""The compile decorator: kernels called from Python and from each other, and a cache that does not lie."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import spoolwright
from spoolwright.kernel import kernel, kernel_sources, source_digest


@kernel
def square(x):
    return x * x


@kernel
def least(x, y):
    return min(square(x), square(y))


@kernel
def sum_of_squares(a):
    total = 0.0
    for i in range(a.shape[0]):
        total += square(a[i])
    return total


@kernel
def row_sums(a, out):
    for i in range(a.shape[0]):
        out[i] = sum_of_squares(a[i])


@kernel
def fresh(n):
    made = np.zeros((2, n))
    made[1, :] = 3.0
    return made


@kernel
def sum_of_fresh(n):
    return sum_of_squares(fresh(n)[1])


def test_kernels__call_each_other_through_several_levels():
    a = np.arange(12.0).reshape(3, 4)
    out = np.zeros(3)
    row_sums(a, out)
    assert out.tolist() == (a * a).sum(axis=1).tolist()


def test_kernel__called_from_kernels_first_can_be_called_from_python():
    assert least(3.0, 2.0) == 4.0
    assert square(3.0) == 9.0
    assert square(3) == 9  # another type, compiled besides
    assert least(2.0, -3.0) == 4.0


def test_kernel__called_only_by_kernels_makes_no_machine_code():
    row_sums(np.ones((1, 1)), np.zeros(1))
    assert sum_of_squares.part.signatures
    assert not sum_of_squares.signatures


def test_kernel__hands_arrays_it_made_to_others():
    for n in (1, 5, 1000):
        assert sum_of_fresh(n) == 9.0 * n


def test_kernel__not_compilable_tells_why():
    @kernel
    def calls_what_is_not_there(x):
        return square(x, x)

    with pytest.raises(Exception, match="square"):
        calls_what_is_not_there(1.0)


def test_digest__changes_with_every_source_that_compiled_code_rests_on(tmp_path):
    root = Path(spoolwright.__file__).parent
    copy = tmp_path / "spoolwright"
    shutil.copytree(root, copy, ignore=shutil.ignore_patterns("__pycache__"))
    before = source_digest(copy)
    assert before == source_digest(root)
    for file in kernel_sources(copy):
        text = file.read_text(encoding="utf-8")
        file.write_text(text + "\n", encoding="utf-8")
        assert source_digest(copy) != before, file
        file.write_text(text, encoding="utf-8")


@pytest.mark.slow
def test_cache__gives_the_new_answer_after_an_edit_of_a_callee_in_another_file(tmp_path):
    """A kernel is cached, then a file it calls is edited: the next process must see the edit."""
    root = Path(spoolwright.__file__).parent
    shutil.copytree(root, tmp_path / "spoolwright", ignore=shutil.ignore_patterns("__pycache__"))
    program = (
        "from spoolwright.cylinder.kinematics import cylinder_volume as v; print(v(0.0, 0.1, 0.04, 0.15, 0.0, 5e-5))"
    )

    def answer() -> float:
        environment = os.environ | {"PYTHONPATH": str(tmp_path), "SPOOLWRIGHT_CACHE": str(tmp_path / "cache")}
        environment["PYTHONDONTWRITEBYTECODE"] = "1"
        done = subprocess.run([sys.executable, "-c", program], env=environment, capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
        return float(done.stdout)

    before = answer()
    assert before == pytest.approx(5e-5, rel=1e-12)
    assert list((tmp_path / "cache").rglob("*.nbc"))
    assert answer() == before  # from the cache
    file = tmp_path / "spoolwright" / "cylinder" / "kinematics.py"
    text = file.read_text(encoding="utf-8")
    callee = text.index("def piston_travel")
    place = text.index("    return ", callee)
    file.write_text(text[:place] + "    return 0.001 + " + text[place + len("    return ") :], encoding="utf-8")
    assert answer() == pytest.approx(before + 0.001 * np.pi / 4.0 * 0.1**2)


@kernel
def _doubled(x: float) -> float:
    return 2.0 * x


@kernel
def _never_doubles(x: float) -> float:
    """The branch falls away when this kernel is simplified by itself, and with it the call."""
    total = 0.0
    for n in range(3):
        if n > 5:
            total += _doubled(x)
    return x + total


@kernel
def _doubles(x: float) -> float:
    return _doubled(x) + 1.0


@kernel
def _both(x: float) -> float:
    return _never_doubles(x) + _doubles(x)


def test_kernel__is_linked_though_its_first_caller_was_simplified_to_call_it_no_more() -> None:
    assert _both(3.0) == 10.0
