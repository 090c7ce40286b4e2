"""A folder of case files: nothing is lost, nothing is overwritten unseen, no name leads out of it."""

import os
import threading
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.case.errors import CaseError
from calibration.case.file import read_case
from calibration.case.records import Case, UnitDescription
from dashboard.workspace import LONGEST_NAME, RESERVED, Workspace, copy_title, file_stem, with_title

CASE = Case("US", UnitDescription("North wing", "R410A", "TXV", 10_000.0))


@pytest.fixture
def workspace(tmp_path) -> Workspace:
    return Workspace(tmp_path / "units")


def test_the_folder_is_made_at_the_first_save_only(workspace):
    assert workspace.entries() == []
    assert not workspace.folder.exists()
    held = workspace.create(CASE)
    assert held.name == "north-wing.toml"
    assert read_case(workspace.folder / held.name) == CASE
    (entry,) = workspace.entries()
    assert (entry.title, entry.words, entry.readable) == ("North wing", "R410A, 0 visits", True)


def test_units_of_one_name_get_files_of_their_own(workspace):
    names = [workspace.create(CASE).name for _ in range(3)]
    assert names == ["north-wing.toml", "north-wing-2.toml", "north-wing-3.toml"]


def test_a_save_keeps_the_version_before_and_can_be_taken_back(workspace):
    held = workspace.create(CASE)
    newer = with_title(CASE, "South wing")
    saved = workspace.save(held, newer)
    assert saved.name == held.name and saved.version != held.version
    assert workspace.read(held.name).case == newer
    assert workspace.previous(held.name) == CASE
    assert workspace.put_previous_back(held.name).case == CASE
    assert workspace.read(held.name).case == CASE
    assert workspace.previous(held.name) == newer


def test_the_second_of_two_who_save_one_version_is_refused(workspace):
    held = workspace.create(CASE)
    workspace.save(held, with_title(CASE, "mine"))
    with pytest.raises(CaseError, match="changed by somebody else"):
        workspace.save(held, with_title(CASE, "theirs"))
    assert workspace.read(held.name).case.unit.name == "mine"


def test_of_many_who_save_one_version_at_once_exactly_one_is_heard(workspace):
    held = workspace.create(CASE)
    heard, gate = [], threading.Barrier(8)

    def save(number):
        gate.wait()
        try:
            workspace.save(held, with_title(CASE, f"writer {number}"))
            heard.append(f"writer {number}")
        except CaseError:
            pass

    threads = [threading.Thread(target=save, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [workspace.read(held.name).case.unit.name] == heard


def test_removed_units_come_back(workspace):
    held = workspace.create(CASE)
    gone = workspace.remove(held.name, held.version)
    assert workspace.entries() == [] and workspace.removed() == [gone]
    assert workspace.bring_back(gone).case == CASE
    assert workspace.removed() == []


def test_a_unit_that_was_changed_meanwhile_is_not_removed(workspace):
    held = workspace.create(CASE)
    workspace.save(held, with_title(CASE, "changed"))
    with pytest.raises(ValueError, match="changed by somebody else"):
        workspace.remove(held.name, held.version)
    assert workspace.read(held.name).case.unit.name == "changed"


def test_copies_are_named_as_such(workspace):
    held = workspace.create(CASE)
    assert workspace.duplicate(held.name).case.unit.name == "North wing (copy)"
    assert workspace.duplicate(held.name).case.unit.name == "North wing (copy 2)"
    assert copy_title("a", {"a", "a (copy)", "a (copy 2)"}) == "a (copy 3)"


def test_a_spoilt_file_is_listed_with_what_is_wrong(workspace):
    workspace.create(CASE)
    (workspace.folder / "spoilt.toml").write_text('units = "US"\n[unit]\nname = 3\n', encoding="utf-8")
    spoilt = next(entry for entry in workspace.entries() if entry.name == "spoilt.toml")
    assert not spoilt.readable
    assert "cannot be read" in spoilt.words and "name" in spoilt.words


@pytest.mark.parametrize(
    "name",
    [
        "../north-wing.toml",
        "..",
        "a/b.toml",
        "a\\b.toml",
        "/etc/passwd",
        ".hidden.toml",
        "x.toml\0",
        "c:x.toml",
        "",
    ],
)
def test_no_name_leads_out_of_the_folder(workspace, name):
    workspace.create(CASE)
    with pytest.raises(ValueError, match="no name of a case file"):
        workspace.read(name)


@pytest.mark.skipif(os.name != "posix", reason="symbolic links need rights on other systems")
def test_links_out_of_the_folder_are_not_followed(workspace, tmp_path):
    held = workspace.create(CASE)
    outside = tmp_path / "outside.toml"
    (workspace.folder / held.name).rename(outside)
    (workspace.folder / "link.toml").symlink_to(outside)
    assert workspace.entries() == []
    with pytest.raises(ValueError, match="points out of the workspace"):
        workspace.read("link.toml")


@settings(derandomize=True, deadline=None)
@given(st.text(max_size=300))
def test_any_name_of_a_unit_gives_a_plain_name_of_a_file(title):
    stem = file_stem(title)
    assert stem and len(stem) <= LONGEST_NAME + len("unit-")
    assert set(stem) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
    assert stem not in RESERVED and not stem.startswith("-")


def test_names_of_devices_and_foreign_letters():
    assert file_stem("CON") == "unit-con"
    assert file_stem("Größe 3 / Süd") == "groe-3-sud"
    assert file_stem("北翼") == "unit"
    assert file_stem("../../etc/passwd") == "etc-passwd"


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="a superuser writes everywhere")
def test_a_folder_that_cannot_be_written_to_is_said(workspace):
    held = workspace.create(CASE)
    workspace.folder.chmod(0o500)
    try:
        with pytest.raises(OSError):
            workspace.save(held, with_title(CASE, "new"))
    finally:
        workspace.folder.chmod(0o700)
    assert workspace.read(held.name).case == CASE


def test_a_full_disk_leaves_the_old_version(workspace, monkeypatch):
    held = workspace.create(CASE)

    def full(handle):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr("os.fsync", full)
        with pytest.raises(OSError, match="No space left"):
            workspace.save(held, with_title(CASE, "new"))
    assert workspace.read(held.name).case == CASE
    assert [path.name for path in workspace.folder.iterdir()] == [held.name]


def test_stamps_change_with_the_content(workspace):
    held = workspace.create(CASE)
    before = workspace.stamps()
    workspace.save(held, replace(CASE, unit=replace(CASE.unit, rated_capacity=11_000.0)))
    assert workspace.stamps() != before
    assert [name for name, _, _ in workspace.stamps()] == [held.name]
    assert Path(workspace.folder / f"{held.name}.bak").exists()
