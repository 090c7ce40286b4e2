"""Kept property tables: there and back, damage, folders that cannot be written, and imports."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from model.properties import property_cache, refrigerant_tables
from model.properties.refrigerant import refrigerant

SHAPES = {"line": (2, 3), "point": (1,)}
ROOT = Path(__file__).parents[3]


def arrays() -> dict[str, np.ndarray]:
    return {"line": np.arange(6.0).reshape(2, 3), "point": np.array([np.pi])}


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(property_cache.FOLDER_VARIABLE, str(tmp_path / "kept"))
    refrigerant.cache_clear()
    return tmp_path / "kept"


def test_stored_arrays_come_back_bit_by_bit(own_folder: Path) -> None:
    file = own_folder / "table.npz"
    assert property_cache.store(file, arrays())
    loaded = property_cache.load(file, SHAPES)
    assert loaded is not None
    for name, array in arrays().items():
        np.testing.assert_array_equal(loaded[name], array)
    assert [path.name for path in own_folder.iterdir()] == ["table.npz"]


def test_storing_again_replaces(own_folder: Path) -> None:
    file = own_folder / "table.npz"
    property_cache.store(file, arrays())
    property_cache.store(file, {name: 2 * array for name, array in arrays().items()})
    loaded = property_cache.load(file, SHAPES)
    assert loaded is not None
    assert loaded["point"][0] == 2 * np.pi


def test_missing_file_is_nothing(own_folder: Path) -> None:
    assert property_cache.load(own_folder / "none.npz", SHAPES) is None


@pytest.mark.parametrize("share", [0.0, 0.3, 0.9])
def test_file_cut_short_is_nothing(own_folder: Path, share: float) -> None:
    file = own_folder / "table.npz"
    property_cache.store(file, arrays())
    content = file.read_bytes()
    file.write_bytes(content[: int(share * len(content))])
    assert property_cache.load(file, SHAPES) is None


def test_flipped_bit_is_nothing(own_folder: Path) -> None:
    """The archive's checksum tells."""
    file = own_folder / "table.npz"
    property_cache.store(file, arrays())
    content = bytearray(file.read_bytes())
    content[content.index(np.array([5.0]).tobytes()) + 3] ^= 1
    file.write_bytes(bytes(content))
    assert property_cache.load(file, SHAPES) is None


@pytest.mark.parametrize(
    "wrong",
    [
        {"line": np.zeros((2, 3))},
        {"line": np.zeros((3, 2)), "point": np.zeros(1)},
        {"line": np.zeros((2, 3), dtype=np.float32), "point": np.zeros(1)},
        {"line": np.full((2, 3), np.nan), "point": np.zeros(1)},
    ],
    ids=["array missing", "other shape", "other numbers", "not a number"],
)
def test_wrong_content_is_nothing(own_folder: Path, wrong: dict[str, np.ndarray]) -> None:
    file = own_folder / "table.npz"
    property_cache.store(file, wrong)
    assert property_cache.load(file, SHAPES) is None


def test_pickled_objects_are_not_loaded(own_folder: Path) -> None:
    own_folder.mkdir()
    file = own_folder / "table.npz"
    np.savez(file, line=np.array([{"a": 1}], dtype=object), point=np.zeros(1))
    assert property_cache.load(file, SHAPES) is None


def test_folder_that_is_a_file_is_no_error(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("not a folder")
    assert not property_cache.store(tmp_path / "taken" / "table.npz", arrays())
    assert property_cache.load(tmp_path / "taken" / "table.npz", SHAPES) is None


def test_failing_write_leaves_no_part_behind(own_folder: Path) -> None:
    file = own_folder / "table.npz"
    (own_folder / "table.npz").mkdir(parents=True)  # a folder cannot be replaced by a file
    assert not property_cache.store(file, arrays())
    assert [path.name for path in own_folder.iterdir()] == ["table.npz"]


def test_folder_follows_the_environment(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert property_cache.folder() == tmp_path / "kept"
    monkeypatch.delenv(property_cache.FOLDER_VARIABLE)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "xdg"))
    assert property_cache.folder() == tmp_path / "xdg" / "coiltoll"
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    assert property_cache.folder() == tmp_path / "home" / ".cache" / "coiltoll"


def test_file_name_carries_everything_the_numbers_depend_on(monkeypatch: pytest.MonkeyPatch) -> None:
    names = {
        property_cache.file_of("R32", 1),
        property_cache.file_of("R32", 2),
        property_cache.file_of("R22", 1),
    }
    monkeypatch.setattr(property_cache, "version", lambda package: "0.0")
    names.add(property_cache.file_of("R32", 1))
    assert len(names) == 4


def test_kept_refrigerant_equals_the_built_one_and_is_not_built_again(
    own_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    built = refrigerant("R32")
    assert len(list(own_folder.iterdir())) == 1
    refrigerant.cache_clear()

    def fail(name: str) -> None:
        raise AssertionError(f"{name} built again")

    monkeypatch.setattr(refrigerant_tables, "build", fail)
    kept = refrigerant("R32")
    p = np.linspace(3e5, 4e6, 50)
    np.testing.assert_array_equal(kept.saturation(p).liquid_density, built.saturation(p).liquid_density)
    np.testing.assert_array_equal(kept.vapour(p, 8.0).entropy, built.vapour(p, 8.0).entropy)


def test_damaged_table_is_built_again(own_folder: Path) -> None:
    expected = refrigerant("R32").dew_temperature(1e6)
    (file,) = own_folder.iterdir()
    whole = file.read_bytes()
    file.write_bytes(whole[: len(whole) // 2])
    refrigerant.cache_clear()
    assert refrigerant("R32").dew_temperature(1e6) == expected
    assert file.stat().st_size == len(whole)


def test_refrigerant_works_where_nothing_can_be_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "taken").write_text("not a folder")
    monkeypatch.setenv(property_cache.FOLDER_VARIABLE, str(tmp_path / "taken"))
    assert refrigerant("R32").dew_temperature(1e6) == pytest.approx(280, abs=1.5)


def test_kept_table_needs_neither_coolprop_nor_scipy(own_folder: Path) -> None:
    refrigerant("R32")
    code = (
        "import sys; from model.properties.refrigerant import refrigerant; "
        "refrigerant('R32').vapour(1e6, 5.0); "
        "sys.exit(any(name.split('.')[0] in ('CoolProp', 'scipy', 'pandas') for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False).returncode == 0


def test_nobody_without_a_home_is_no_fault(monkeypatch):
    def homeless():
        raise RuntimeError("Could not determine home directory.")

    for name in ("HOME", "XDG_CACHE_HOME", property_cache.FOLDER_VARIABLE):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr("pathlib.Path.home", homeless)
    file = property_cache.file_of("R410A", 1)
    assert not property_cache.store(file, {"a": np.zeros(1)})
    assert property_cache.load(file, {"a": (1,)}) is None
