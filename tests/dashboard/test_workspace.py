"""A folder of case files: nothing is lost, nothing is overwritten unseen, no name leads out of it."""

import datetime as dt
import os
import stat
import threading
from dataclasses import replace
from pathlib import Path

import pytest

from calibration.case.errors import CaseError
from calibration.case.file import case_text, read_case
from calibration.case.records import Case, UnitDescription
from dashboard import workspace as workspace_module
from dashboard.workspace import REMOVED, Workspace, copy_title, with_title

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
    back = workspace.bring_back(gone)
    assert (back.name, back.title, back.readable) == (held.name, "North wing", True)
    assert workspace.read(back.name).case == CASE
    assert workspace.removed() == []


def test_the_previous_version_goes_and_comes_back_with_its_unit(workspace):
    held = workspace.save(workspace.create(CASE), with_title(CASE, "South wing"))
    gone = workspace.remove(held.name, held.version)
    assert [path.name for path in workspace.folder.iterdir()] == [REMOVED]
    workspace.bring_back(gone)
    assert list((workspace.folder / REMOVED).iterdir()) == []
    assert workspace.previous(held.name) == CASE
    assert workspace.put_previous_back(held.name).case == CASE


def test_every_unit_has_an_identifier_that_it_keeps(workspace):
    held = workspace.create(CASE)
    assert held.case.id and workspace.read(held.name).case.id == held.case.id
    saved = workspace.save(held, with_title(CASE, "South wing"))
    assert workspace.read(held.name).case.id == saved.case.id == held.case.id
    copies = [workspace.duplicate(held.name), workspace.create(held.case)]
    assert len({held.case.id, *(copy.case.id for copy in copies)}) == 3
    gone = workspace.remove(held.name, saved.version)
    assert workspace.read(workspace.bring_back(gone).name).case.id == held.case.id


def test_a_name_is_not_given_again_while_anything_of_it_is_left(workspace):
    first = workspace.save(workspace.create(CASE), with_title(CASE, "North wing"))
    gone = workspace.remove(first.name, first.version)
    second = workspace.create(CASE)
    assert second.name == "north-wing-2.toml"
    assert workspace.previous(second.name) is None
    with pytest.raises(ValueError, match="has no version before"):
        workspace.put_previous_back(second.name)
    (workspace.folder / REMOVED / gone).unlink()
    assert workspace.create(CASE).name == "north-wing-3.toml"  # its previous version is still there
    (workspace.folder / REMOVED / f"{gone}.bak").unlink()
    (workspace.folder / "south-wing.toml.bak").write_bytes(b"")
    assert workspace.create(with_title(CASE, "South wing")).name == "south-wing-2.toml"
    assert workspace.create(CASE).name == "north-wing.toml"


def test_the_previous_version_of_another_unit_is_not_put_back(workspace):
    held, other = workspace.create(CASE), workspace.create(with_title(CASE, "Other"))
    kept = workspace.folder / f"{held.name}.bak"
    kept.write_bytes((workspace.folder / other.name).read_bytes())
    before = (workspace.folder / held.name).read_bytes()
    assert workspace.previous(held.name) is None
    with pytest.raises(ValueError, match=r"the version kept beside north-wing.toml is one of another unit"):
        workspace.put_previous_back(held.name)
    assert (workspace.folder / held.name).read_bytes() == before
    assert kept.exists()


def test_a_unit_of_before_identifiers_is_told_from_others(workspace):
    workspace.create(CASE)
    path = workspace.folder / "north-wing.toml"
    path.write_text("# of before\n" + case_text(CASE), encoding="utf-8")
    opened = workspace.read(path.name)
    assert opened.case.id == "" and workspace.is_same_unit(opened, workspace.read(path.name))
    saved = workspace.save(opened, with_title(CASE, "renamed"))
    assert saved.case.id and workspace.is_same_unit(opened, saved)
    assert workspace.put_previous_back(path.name).case == CASE
    assert path.read_text(encoding="utf-8").startswith("# of before\n")
    other = workspace.create(with_title(CASE, "Other"))
    path.write_bytes((workspace.folder / other.name).read_bytes())
    assert not workspace.is_same_unit(opened, workspace.read(path.name))
    assert not workspace.is_same_unit(saved, workspace.read(path.name))


COMMENTED = f"# measured by two people\n{case_text(CASE)}# the end\n".encode()
LONG = "long-" * 36 + "name"


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("newer.toml", COMMENTED.replace(b"schema = 1", b"schema = 99")),
        ("broken.toml", b'units = "US"\n[unit\n'),
        ("latin.toml", b"# Gr\xfc\xdfe\n" + COMMENTED),
        ("commented.toml", COMMENTED),
        (f"{LONG}.toml", COMMENTED),
        ("two.dots.toml", COMMENTED),
        ("北翼.toml", COMMENTED),
    ],
)
def test_whatever_is_removed_comes_back_byte_for_byte(workspace, name, content):
    workspace.create(with_title(CASE, "Other"))
    path = workspace.folder / name
    path.write_bytes(content)
    gone = workspace.remove(name, workspace.version(name))
    assert not path.exists() and workspace.removed() == [gone]
    back = workspace.bring_back(gone)
    assert back.name == name
    assert path.read_bytes() == content
    assert name in [entry.name for entry in workspace.entries()]


def test_the_longest_of_names_can_be_removed_and_brought_back(workspace):
    """Cut by what the moment of removal takes, where the file system has no more room."""
    workspace.create(CASE)
    path = workspace.folder / ("翼" * 82 + ".toml")
    path.write_bytes(COMMENTED)
    gone = workspace.remove(path.name, workspace.version(path.name))
    back = workspace.bring_back(gone)
    assert "翼" * 70 in back.name
    assert (workspace.folder / back.name).read_bytes() == COMMENTED


def test_what_is_removed_in_one_moment_is_all_kept(workspace, monkeypatch):
    class Stopped(dt.datetime):
        @classmethod
        def now(cls, tz=None):
            return cls(2026, 11, 1, 1, 30)

    monkeypatch.setattr("dashboard.workspace.dt.datetime", Stopped)
    for number in range(3):
        held = workspace.create(with_title(CASE, f"unit {number}"))
        (workspace.folder / held.name).rename(workspace.folder / "same.toml")
        workspace.remove("same.toml", held.version)
    names = [workspace.bring_back(gone).name for gone in workspace.removed()]
    assert sorted(workspace.read(name).case.unit.name for name in names) == ["unit 0", "unit 1", "unit 2"]


@pytest.mark.skipif(os.name != "posix", reason="folders are made safe on POSIX systems only")
def test_folders_are_made_safe_on_the_disk_after_every_move(workspace, monkeypatch):
    synced = []
    real = os.fsync

    def noted(handle):
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            synced.append(os.fstat(handle).st_ino)
        real(handle)

    def inodes(*folders):
        return {folder.stat().st_ino for folder in folders}

    monkeypatch.setattr(os, "fsync", noted)
    held = workspace.create(CASE)
    assert inodes(workspace.folder, workspace.folder.parent) <= set(synced)
    synced.clear()
    gone = workspace.remove(held.name, held.version)
    assert inodes(workspace.folder, workspace.folder / REMOVED) <= set(synced)
    synced.clear()
    workspace.bring_back(gone)
    assert inodes(workspace.folder, workspace.folder / REMOVED) <= set(synced)


def test_units_named_in_any_script_get_files_of_their_own(workspace):
    titles = ["北翼", "南翼", "สาขาสีลม", "สาขาอโศก", "❄️", "🏢", "Größe", "!"]
    names = [workspace.create(with_title(CASE, title)).name for title in titles]
    assert names == [
        "北翼.toml", "南翼.toml", "สาขาสีลม.toml", "สาขาอโศก.toml",
        "snowflake.toml", "office-building.toml", "große.toml", "exclamation-mark.toml",
    ]  # fmt: skip
    assert sorted(entry.title for entry in workspace.entries()) == sorted(titles)
    assert [workspace.read(name).case.unit.name for name in names] == titles


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


def test_copies_and_files_read_in_keep_their_comments(workspace):
    first = workspace.create(CASE, COMMENTED.decode())
    copy = workspace.duplicate(first.name)
    for held in (first, copy):
        lines = (workspace.folder / held.name).read_text(encoding="utf-8").splitlines()
        assert (lines[0], lines[-1]) == ("# measured by two people", "# the end")
    assert first.case.id != copy.case.id


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


def test_a_folder_that_became_a_file_holds_nothing_and_stays(tmp_path):
    place = tmp_path / "units"
    place.write_text("mine", encoding="utf-8")
    assert Workspace(place).entries() == []
    with pytest.raises(OSError):
        Workspace(place).create(CASE)
    assert place.read_text(encoding="utf-8") == "mine"


def test_a_name_is_read_again_only_where_its_file_changed(tmp_path, monkeypatch):
    read = []
    whole = workspace_module.unit_name
    monkeypatch.setattr(workspace_module, "unit_name", lambda path: read.append(path.name) or whole(path))
    for name in ("a", "b"):
        (tmp_path / f"{name}.toml").write_text(f'[unit]\nname = "{name}"\n', "utf-8")
    assert {one.title for one in Workspace(tmp_path).titles()} == {"a", "b"}
    (tmp_path / "b.toml").write_text('[unit]\nname = "another"\n', "utf-8")
    assert {one.title for one in Workspace(tmp_path).titles()} == {"a", "another"}
    assert sorted(read) == ["a.toml", "b.toml", "b.toml"]
