"""Only regular files are read, and only as much of them as is wanted."""

import os

import pytest

from calibration.files.input_file import input_bytes, require_regular


def test_the_beginning_of_a_file_and_of_a_link_to_one(tmp_path):
    (tmp_path / "a").write_bytes(b"0123456789")
    (tmp_path / "b").symlink_to("a")
    assert input_bytes(tmp_path / "a", 4) == input_bytes(tmp_path / "b", 4) == b"0123"
    assert require_regular(tmp_path / "b") == 10


def test_what_is_no_file_is_refused_before_it_is_opened(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for name, words in (("pipe", "is a pipe or a device"), ("", "is a folder")):
        with pytest.raises(OSError, match=f"{words}; a file is expected"):
            input_bytes(tmp_path / name, 4)
    with pytest.raises(OSError, match="pipe or a device"):
        input_bytes(tmp_path.__class__("/dev/zero"), 4)
    with pytest.raises(FileNotFoundError):
        input_bytes(tmp_path / "none", 4)
