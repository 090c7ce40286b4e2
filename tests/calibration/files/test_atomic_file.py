"""Files are there whole or not at all."""

import os
import re
import stat
import subprocess
import sys
import threading

import pytest

from calibration.files import atomic_file
from calibration.files.atomic_file import (
    alone_in,
    clear_unfinished,
    fresh_file,
    write_whole,
    written_at_the_end,
)


@pytest.fixture
def mask():
    """Set the user's mask of permissions until the end of the test."""
    before = os.umask(0o022)
    yield os.umask
    os.umask(before)


def mode(path):
    return stat.S_IMODE(path.stat().st_mode)


@pytest.mark.skipif(os.name != "posix", reason="masks of permissions are of POSIX systems")
@pytest.mark.parametrize(("masked", "left"), [(0o022, 0o644), (0o077, 0o600), (0o002, 0o664), (0, 0o666)])
def test_a_new_file_has_the_permissions_that_the_mask_leaves(tmp_path, mask, masked, left):
    mask(masked)
    file = tmp_path / "out.csv"
    write_whole(file, b"first")
    assert (file.read_bytes(), mode(file)) == (b"first", left)


@pytest.mark.skipif(os.name != "posix", reason="masks of permissions are of POSIX systems")
@pytest.mark.parametrize("kept", [0o600, 0o640, 0o666])
def test_an_old_file_keeps_its_permissions(tmp_path, mask, kept):
    mask(0o077)
    file = tmp_path / "out.csv"
    file.write_bytes(b"first")
    file.chmod(kept)
    with fresh_file(file, b"second") as fresh:
        assert mode(fresh) == kept
    write_whole(file, b"second")
    assert (file.read_bytes(), mode(file)) == (b"second", kept)
    assert [entry.name for entry in tmp_path.iterdir()] == ["out.csv"]


def test_two_files_are_written_together_or_not_at_all(tmp_path):
    first, second = tmp_path / "first", tmp_path / "second"
    with written_at_the_end(first, b"1"):
        assert not first.exists()
        write_whole(second, b"2")
    assert (first.read_bytes(), second.read_bytes()) == (b"1", b"2")
    with pytest.raises(FileNotFoundError), written_at_the_end(first, b"3"):
        write_whole(tmp_path / "gone" / "second", b"4")
    assert first.read_bytes() == b"1"
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["first", "second"]


def test_a_link_stays_a_link(tmp_path):
    (tmp_path / "there").mkdir()
    link = tmp_path / "link.csv"
    link.symlink_to(tmp_path / "there" / "out.csv")
    write_whole(link, b"content")
    assert link.is_symlink()
    assert (tmp_path / "there" / "out.csv").read_bytes() == b"content"


def test_folders_and_missing_folders_are_named(tmp_path):
    with pytest.raises(OSError, match="is a folder; the name of a file is expected"):
        write_whole(tmp_path, b"content")
    with pytest.raises(FileNotFoundError) as caught:
        write_whole(tmp_path / "gone" / "out.csv", b"content")
    assert caught.value.filename == str(tmp_path / "gone" / "out.csv")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name != "posix", reason="named pipes are of POSIX systems")
def test_what_is_no_file_is_written_to_and_stays(tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    read = []
    reader = threading.Thread(target=lambda: read.append(pipe.read_bytes()))
    reader.start()
    write_whole(pipe, b"content")
    reader.join()
    assert read == [b"content"]
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_a_failing_disk_leaves_the_old_file_and_nothing_else(tmp_path, monkeypatch):
    file = tmp_path / "out.csv"
    file.write_bytes(b"old")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left") as caught:
        write_whole(file, b"new")
    assert caught.value.filename == str(file)
    assert [(entry.name, entry.read_bytes()) for entry in tmp_path.iterdir()] == [("out.csv", b"old")]


def test_one_at_a_time_in_a_folder(tmp_path):
    inside, most = [], []

    def work():
        for _ in range(50):
            with alone_in(tmp_path):
                inside.append(1)
                most.append(len(inside))
                inside.pop()

    workers = [threading.Thread(target=work) for _ in range(4)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert max(most) == 1


SAVER = """
import sys
from pathlib import Path
from calibration.files.atomic_file import fresh_file
with fresh_file(Path(sys.argv[1]), b"half") as fresh:
    print(fresh.name, flush=True)
    sys.stdin.read()
    fresh.replace(sys.argv[1])
"""


def saver(target):
    """Another process that has a file ready and waits before it puts it in its place; and the file's name."""
    process = subprocess.Popen(
        [sys.executable, "-c", SAVER, str(target)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    return process, process.stdout.readline().strip()


@pytest.mark.skipif(not atomic_file.CAN_LOCK, reason="no locks on files")
def test_what_a_killed_process_left_is_taken_away_at_once_and_nothing_else(tmp_path):
    dead, left = saver(tmp_path / "out.csv")
    living, written = saver(tmp_path / "in.csv")
    dead.kill()
    dead.wait()
    foreign = [".out.csv.1.tmp", ".coiltoll.tmp", "out.coiltoll-0123456789abcdef.tmp", ".in.csv.swp"]
    for name in foreign:
        (tmp_path / name).write_bytes(b"of another program")
    (tmp_path / ".a.coiltoll-0123456789abcdef.tmp").symlink_to(tmp_path / foreign[0])
    assert {left, written} <= {entry.name for entry in tmp_path.iterdir()}
    write_whole(tmp_path / "other.csv", b"content")
    names = {entry.name for entry in tmp_path.iterdir()}
    assert names == {*foreign, ".a.coiltoll-0123456789abcdef.tmp", written, "other.csv"}
    living.communicate("")
    assert living.returncode == 0
    assert (tmp_path / "in.csv").read_bytes() == b"half"


@pytest.mark.parametrize("can_lock", [True, False])
def test_where_files_cannot_be_locked_age_decides(tmp_path, monkeypatch, can_lock):
    """Without locks at all, and in a folder that refuses them."""
    monkeypatch.setattr(atomic_file, "CAN_LOCK", can_lock and atomic_file.CAN_LOCK)
    if atomic_file.CAN_LOCK:

        def refused(*_):
            raise OSError(95, "Operation not supported")

        monkeypatch.setattr(atomic_file.fcntl, "flock", refused)
    old, young = (tmp_path / f".out.csv.coiltoll-{sign * 16}.tmp" for sign in "ab")
    for path in (old, young):
        path.write_bytes(b"half")
    os.utime(old, (0, 0))
    write_whole(tmp_path / "out.csv", b"content")
    assert {entry.name for entry in tmp_path.iterdir()} == {young.name, "out.csv"}


def test_a_file_taken_away_before_it_was_locked_is_begun_anew(tmp_path, monkeypatch):
    """Another program sweeps between the making of the file and its lock."""
    if not atomic_file.CAN_LOCK:
        pytest.skip("no locks on files")
    lock, seen = atomic_file.fcntl.flock, []

    def late(handle, operation):
        if not seen:
            (fresh,) = tmp_path.iterdir()
            seen.append(fresh.name)
            fresh.unlink()
        lock(handle, operation)

    monkeypatch.setattr(atomic_file.fcntl, "flock", late)
    write_whole(tmp_path / "out.csv", b"content")
    assert (tmp_path / "out.csv").read_bytes() == b"content"
    assert atomic_file.UNFINISHED.fullmatch(seen[0])
    assert [entry.name for entry in tmp_path.iterdir()] == ["out.csv"]


def test_sweeping_where_nothing_is(tmp_path):
    clear_unfinished(tmp_path / "none")
    clear_unfinished(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_names_of_hidden_files_are_short_enough_for_any_target(tmp_path):
    file = tmp_path / ("\U00020000" * 60 + ".toml")
    write_whole(file, b"content")
    with fresh_file(file, b"content") as fresh:
        assert re.fullmatch(r"\..*\.coiltoll-[0-9a-f]{16}\.tmp", fresh.name)
        assert len(os.fsencode(fresh.name)) <= 255
