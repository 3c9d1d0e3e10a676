"""The table cache: digest, atomic write, damaged files, folders that cannot be used."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from spoolwright.gas import cache
from spoolwright.gas.air import DRY_AIR, humid_air
from spoolwright.gas.cache import load_or_make, read_table, table_digest, write_table
from spoolwright.gas.equilibrium import LN_P_NODES, PHI_NODES, PRODUCTS, T_NODES, EquilibriumTable
from spoolwright.gas.fuels import ETHANOL, ISOOCTANE, grade


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[str]:
    """A cache folder of its own, and a stand-in for the computation that notes each call."""
    calls: list[str] = []

    def quick(fuel, air) -> EquilibriumTable:  # type: ignore[no-untyped-def]
        calls.append(fuel.name)
        shape = (PHI_NODES.size, LN_P_NODES.size, T_NODES.size, 2)
        random = np.random.default_rng(1)
        return EquilibriumTable(random.normal(size=shape), random.random((PHI_NODES.size, len(PRODUCTS))))

    monkeypatch.setattr(cache, "compute_table", quick)
    monkeypatch.setenv("SPOOLWRIGHT_CACHE", str(tmp_path))
    return calls


def only_file(folder: Path) -> Path:
    (file,) = (folder / "gas").iterdir()
    return file


def test_digest__follows_everything_the_table_depends_on(monkeypatch: pytest.MonkeyPatch) -> None:
    one = table_digest(ISOOCTANE, DRY_AIR)
    assert one == table_digest(ISOOCTANE, DRY_AIR)
    assert one != table_digest(ETHANOL, DRY_AIR)
    assert one != table_digest(replace(ISOOCTANE, H=18.001), DRY_AIR)
    assert one != table_digest(ISOOCTANE, humid_air(298.15, 101325.0, 0.5))
    damp, damper = (table_digest(ISOOCTANE, humid_air(298.15, 101325.0, rh)) for rh in (0.50, 0.51))
    assert damp != damper
    monkeypatch.setattr(cache, "TABLE_VERSION", 999)
    assert one != table_digest(ISOOCTANE, DRY_AIR)
    monkeypatch.undo()
    monkeypatch.setattr(cache, "version", lambda name: "0.0")
    assert one != table_digest(ISOOCTANE, DRY_AIR)


def test_digest__petrol_grades_share_a_table() -> None:
    one, other = grade("petrol 95 RON"), grade("petrol 98 RON")
    assert table_digest(one, DRY_AIR) == table_digest(other, DRY_AIR)
    assert table_digest(one, DRY_AIR) == table_digest(replace(one, C=15.0, H=28.05), DRY_AIR)


def test_table__made_once_then_read(made: list[str], tmp_path: Path) -> None:
    first = load_or_make(ISOOCTANE, DRY_AIR)
    second = load_or_make(ISOOCTANE, DRY_AIR)
    assert made == ["isooctane"]
    assert np.array_equal(first.values, second.values)
    assert np.array_equal(first.frozen, second.frozen)
    assert only_file(tmp_path).name == f"burned-{table_digest(ISOOCTANE, DRY_AIR)}.npz"


@pytest.mark.parametrize("damage", ["empty", "short", "flipped", "text", "shape", "nan", "missing", "pickle"])
def test_damaged_file__is_made_again(damage: str, made: list[str], tmp_path: Path) -> None:
    whole = load_or_make(ISOOCTANE, DRY_AIR)
    file = only_file(tmp_path)
    content = file.read_bytes()
    if damage == "empty":
        file.write_bytes(b"")
    elif damage == "short":
        file.write_bytes(content[: len(content) // 2])
    elif damage == "flipped":
        middle = len(content) // 2
        file.write_bytes(content[:middle] + bytes([content[middle] ^ 0xFF]) + content[middle + 1 :])
    elif damage == "text":
        file.write_text("not a table")
    elif damage == "shape":
        np.savez(file, values=whole.values[:-1], frozen=whole.frozen)
    elif damage == "nan":
        np.savez(file, values=np.where(whole.values > 2.0, np.nan, whole.values), frozen=whole.frozen)
    elif damage == "missing":
        np.savez(file, values=whole.values)
    elif damage == "pickle":
        np.savez(file, values=np.array([{"a": 1}], dtype=object), frozen=whole.frozen)
    assert read_table(file) is None
    again = load_or_make(ISOOCTANE, DRY_AIR)
    assert made == ["isooctane", "isooctane"]
    assert np.array_equal(again.values, whole.values)
    assert read_table(file) is not None


def test_switched_off__nothing_is_written(made: list[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("SPOOLWRIGHT_CACHE", "off")
    load_or_make(ISOOCTANE, DRY_AIR)
    load_or_make(ISOOCTANE, DRY_AIR)
    assert len(made) == 2
    assert not list(tmp_path.iterdir())


def test_folder_that_is_a_file__costs_only_time(
    made: list[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    blocked = tmp_path / "blocked"
    blocked.write_text("a file, not a folder")
    monkeypatch.setenv("SPOOLWRIGHT_CACHE", str(blocked))
    assert np.isfinite(load_or_make(ISOOCTANE, DRY_AIR).values).all()
    assert blocked.read_text() == "a file, not a folder"


def test_write__leaves_no_half_file_when_it_breaks(
    made: list[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    table = load_or_make(ISOOCTANE, DRY_AIR)
    before = only_file(tmp_path).read_bytes()

    def full_disk(*args: object, **kwargs: object) -> None:
        raise OSError("no space left on device")

    monkeypatch.setattr(cache.np, "savez", full_disk)
    write_table(only_file(tmp_path), EquilibriumTable(table.values + 1.0, table.frozen))
    assert only_file(tmp_path).read_bytes() == before


def test_oldest_files__are_dropped(made: list[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(cache, "FILES_KEPT", 3)
    for rh in (0.1, 0.2, 0.3, 0.4, 0.5):
        load_or_make(ISOOCTANE, humid_air(298.15, 101325.0, rh))
    assert len(list((tmp_path / "gas").iterdir())) == 3
    load_or_make(ISOOCTANE, humid_air(298.15, 101325.0, 0.5))
    assert len(made) == 5
