"""Files are there whole or not at all."""

import os
import stat
import threading

import pytest

from calibration.case.atomic_file import alone_in, write_whole


def test_a_new_file_and_its_successor(tmp_path):
    file = tmp_path / "out.csv"
    write_whole(file, b"first")
    assert (file.read_bytes(), stat.S_IMODE(file.stat().st_mode)) == (b"first", 0o644)
    file.chmod(0o600)
    write_whole(file, b"second")
    assert (file.read_bytes(), stat.S_IMODE(file.stat().st_mode)) == (b"second", 0o600)
    assert [entry.name for entry in tmp_path.iterdir()] == ["out.csv"]


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


def test_what_a_killed_process_left_is_taken_away_after_an_hour(tmp_path):
    file = tmp_path / "out.csv"
    old, young, other = (tmp_path / name for name in (".out.csv.1.tmp", ".out.csv.2.tmp", ".in.csv.3.tmp"))
    for path in (old, young, other):
        path.write_bytes(b"half")
    for path in (old, other):
        os.utime(path, (0, 0))
    write_whole(file, b"content")
    assert sorted(entry.name for entry in tmp_path.iterdir()) == [other.name, young.name, file.name]
