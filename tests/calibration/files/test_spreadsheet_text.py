"""No cell that is written runs as a formula in a spreadsheet."""

import pytest

from calibration.files.spreadsheet_text import harmless_cell, is_number


@pytest.mark.parametrize("cell", ["=1+1", "+cmd", "-cmd", "@x", "\t=1", "＝1", "-inf"])
def test_what_a_spreadsheet_would_run_gets_an_apostrophe(cell):
    assert harmless_cell(cell) == f"'{cell}"


@pytest.mark.parametrize("cell", ["-1.5", "+2", "1e3", "text", "", "a=b"])
def test_numbers_and_texts_stay(cell):
    assert harmless_cell(cell) == cell


def test_returns_become_line_feeds_and_numbers_are_those_of_people():
    assert harmless_cell("a\r\nb\rc") == "a\nb\nc"
    assert is_number("1e3")
    assert not is_number("1_000")
