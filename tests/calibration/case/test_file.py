"""Files: read whole or refused whole, written in one step, the previous version kept."""

import dataclasses
import os
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.case import file as case_file
from calibration.case.errors import CaseError
from calibration.case.file import (
    case_text,
    fingerprint,
    holds_a_case,
    identifier,
    parse_case,
    read_case,
    with_identifier,
    write_case,
)
from calibration.case.records import CleaningEntry
from tests.calibration.sample_case import SAMPLE, changed


@pytest.fixture
def path(tmp_path):
    file = tmp_path / "unit.toml"
    file.write_text(SAMPLE, encoding="utf-8")
    return file


def test_read_knows_its_source(path):
    case = read_case(path)
    assert case.source == path
    assert case == parse_case(SAMPLE)


def test_text_of_a_case_is_the_text_that_was_read(path):
    assert case_text(read_case(path)) == SAMPLE


def test_byte_order_mark_and_windows_line_ends(path):
    path.write_bytes(b"\xef\xbb\xbf" + SAMPLE.replace("\n", "\r\n").encode())
    assert read_case(path) == parse_case(SAMPLE)


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"\xff\xfe\x00", "is not text in UTF-8 (byte 1 of the file)"),
        (b"x", "TOML: is not valid TOML: expected '=' after a key in a key/value pair"),
        (b"a = 1\na = 2\n", "TOML: a key or table appears twice (at line 2"),
        (b"a = " + b"[" * 5000, "TOML: a list, table or number in it is out of all bounds"),
        (b"a = " + b"9" * 5000, "TOML: a list, table or number in it is out of all bounds"),
        (b"", 'units: is missing; "US" or "SI" is expected'),
    ],
)
def test_files_that_are_no_case(path, content, sentence):
    path.write_bytes(content)
    with pytest.raises(CaseError) as caught:
        read_case(path)
    assert sentence in str(caught.value)
    assert path.read_bytes() == content


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("rated_eer = 3,5", "a decimal point, and no other mark inside a number, is expected"),
        ("rated_capacity = 42,000", "a decimal point, and no other mark inside a number, is expected"),
        ("date = 3/7/26", "year-month-day is expected, such as 2026-05-14"),
        ("altitude = 800 ft", "a number alone, without its unit, is expected"),
        ("return_rh = 50%", "a number alone, without its unit, is expected"),
        ("refrigerant = R410A", "words in quotation marks are expected"),
        ('label = "before', "a quotation mark at the end is expected"),
        ("return_wb =   # forgotten", "a value is expected, or no such line where it was not taken"),
    ],
)
def test_a_line_that_is_no_toml_is_quoted_with_what_is_expected(line, expected):
    with pytest.raises(CaseError) as caught:
        parse_case(f'units = "US"\r\n[unit]\r\n{line}\r\nname = "x"\r\n')
    assert "(at line 3, column" in str(caught.value)
    assert str(caught.value).endswith(f", which reads: {line} ({expected})")


def test_files_that_cannot_be_opened(tmp_path):
    with pytest.raises(CaseError, match="there is no such file"):
        read_case(tmp_path / "none.toml")
    with pytest.raises(CaseError, match="cannot be read"):
        read_case(tmp_path)


def test_a_file_out_of_all_proportion(path, monkeypatch):
    monkeypatch.setattr(case_file, "LARGEST_FILE", 100)
    with pytest.raises(CaseError, match="is longer than the 100 bytes"):
        read_case(path)


@given(st.binary(max_size=300))
@settings(derandomize=True, deadline=None, max_examples=200)
def test_random_bytes_are_refused_in_words(tmp_path_factory, content):
    file = tmp_path_factory.getbasetemp() / "random.toml"
    file.write_bytes(content)
    with pytest.raises(CaseError) as caught:
        read_case(file)
    assert caught.value.problems


@given(st.data())
@settings(derandomize=True, deadline=None, max_examples=80)
def test_a_damaged_case_is_read_or_refused_in_words(data):
    place = data.draw(st.integers(0, len(SAMPLE) - 1))
    length = data.draw(st.integers(0, 40))
    put = data.draw(st.text(max_size=12))
    text = SAMPLE[:place] + put + SAMPLE[place + length :]
    try:
        case = parse_case(text)
    except CaseError as error:
        assert all(str(problem).strip() for problem in error.problems)
    else:
        assert parse_case(case_text(case)) == case


@given(
    st.recursive(
        st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=5)),
        lambda inner: st.one_of(
            st.lists(inner, max_size=3),
            st.dictionaries(
                st.sampled_from(
                    [
                        "unit",
                        "visit",
                        "season",
                        "tariff",
                        "periods",
                        "name",
                        "date",
                        "hours",
                        "compressor_map",
                    ]
                ),
                inner,
                max_size=4,
            ),
        ),
        max_leaves=12,
    )
)
@settings(derandomize=True, deadline=None, max_examples=200)
def test_any_tables_are_refused_in_words(tables):
    document = tables if isinstance(tables, dict) else {"unit": tables}
    with pytest.raises(CaseError):
        case_file.case_from_document({"units": "US", **document, "schema": 1})


def test_write_keeps_the_previous_version(path):
    case = read_case(path)
    dearer = dataclasses.replace(case, cleaning=CleaningEntry(price=200.0))
    mark = write_case(dearer, path)
    assert read_case(path) == dearer
    assert (path.parent / "unit.toml.bak").read_text(encoding="utf-8") == SAMPLE
    assert mark == fingerprint(path)
    assert sorted(file.name for file in path.parent.iterdir()) == ["unit.toml", "unit.toml.bak"]


def test_write_makes_a_new_file(tmp_path):
    file = tmp_path / "new.toml"
    write_case(parse_case(SAMPLE), file)
    written = file.read_text(encoding="utf-8")
    assert re.sub('^id = "[0-9a-f]{32}"\\n', "", written, flags=re.MULTILINE) == SAMPLE
    assert [entry.name for entry in tmp_path.iterdir()] == ["new.toml"]


def test_a_case_is_given_an_identifier_at_its_first_save_and_keeps_it(path, tmp_path):
    assert read_case(path).id == ""
    write_case(read_case(path), path)
    first = read_case(path)
    assert re.fullmatch("[0-9a-f]{32}", first.id)
    assert first == parse_case(SAMPLE)
    write_case(dataclasses.replace(first, cleaning=None), path)
    assert read_case(path).id == first.id == read_case(path.with_name("unit.toml.bak")).id
    write_case(parse_case(SAMPLE), tmp_path / "other.toml")
    assert read_case(tmp_path / "other.toml").id not in ("", first.id)
    assert with_identifier(first) is first
    write_case(dataclasses.replace(parse_case(SAMPLE), cleaning=None), path)
    assert read_case(path).id == first.id, "a case made anew for the same file is of the same unit"


@pytest.mark.parametrize("value", ["'short'", "'with space'", "'" + "a" * 65 + "'", "3", "['abcdefgh']"])
def test_an_identifier_of_another_form_is_refused(value):
    with pytest.raises(CaseError, match=r"^id: is "):
        parse_case(f"id = {value}\n{SAMPLE}")


def test_an_empty_identifier_is_none():
    assert parse_case(f"id = ''\n{SAMPLE}").id == ""


@pytest.mark.parametrize(
    ("name", "content", "holds", "found"),
    [
        ("unit.toml", SAMPLE, True, ""),
        ("unit.csv", f"id = 'abcdefgh'\n{SAMPLE}", True, "abcdefgh"),
        ("unit.csv", SAMPLE.replace("rated_capacity", "rated_capacitance"), True, ""),
        ("unit.csv", SAMPLE.replace("schema = 1", "schema = 99\nid = 'abcdefgh'"), True, "abcdefgh"),
        ("unit.toml", "units = ", True, ""),
        ("unit.TOML.bak", "", True, ""),
        ("table.csv", "outdoor_db,return_db\n95,80\n", False, ""),
        ("pyproject.txt", "[project]\nname = 'x'\n", False, ""),
        ("none.csv", None, False, ""),
    ],
)
def test_what_holds_a_case(tmp_path, name, content, holds, found):
    file = tmp_path / name
    if content is not None:
        file.write_text(content, encoding="utf-8")
    assert (holds_a_case(file), identifier(file)) == (holds, found)
    link = tmp_path / "link.csv"
    link.symlink_to(file)
    assert holds_a_case(link) == holds
    assert not holds_a_case(tmp_path)


def test_a_link_stays_a_link(path, tmp_path):
    link = tmp_path / "link.toml"
    link.symlink_to(path)
    write_case(dataclasses.replace(read_case(link), cleaning=None), link)
    assert link.is_symlink()
    assert read_case(path).cleaning is None


def test_a_case_that_would_not_read_back_is_not_written(path):
    case = read_case(path)
    broken = dataclasses.replace(case, unit=dataclasses.replace(case.unit, refrigerant="R999"))
    with pytest.raises(CaseError, match="R999"):
        write_case(broken, path)
    assert path.read_text(encoding="utf-8") == SAMPLE
    assert [entry.name for entry in path.parent.iterdir()] == ["unit.toml"]


def test_a_change_by_somebody_else_is_noticed(path):
    case, before = read_case(path), fingerprint(path)
    path.write_text(changed(("price = 180.0", "price = 190.0")), encoding="utf-8")
    with pytest.raises(CaseError, match="was changed by somebody else meanwhile"):
        write_case(case, path, expected=before)
    assert read_case(path).cleaning.price == 190.0
    write_case(case, path, expected=fingerprint(path))
    assert read_case(path) == case
    assert fingerprint(path.with_name("none")) == ""


def test_a_folder_that_is_gone(tmp_path):
    with pytest.raises(OSError, match="No such file"):
        write_case(parse_case(SAMPLE), tmp_path / "gone" / "unit.toml")


@pytest.mark.parametrize("failing", ["fsync", "replace"])
def test_a_failing_disk_leaves_the_old_version(path, monkeypatch, failing):
    def full(*_, **__):
        raise OSError(28, "No space left on device")

    if failing == "fsync":
        monkeypatch.setattr(os, "fsync", full)
    else:
        monkeypatch.setattr(Path, "replace", full)
    case = dataclasses.replace(read_case(path), cleaning=None)
    with pytest.raises(OSError, match="No space left"):
        write_case(case, path)
    assert path.read_text(encoding="utf-8") == SAMPLE


def test_a_line_without_end_is_refused_before_it_is_taken_apart(monkeypatch):
    monkeypatch.setattr("tomllib.loads", None)
    with pytest.raises(CaseError, match="has a line of more than the 100000 characters of a case file"):
        parse_case("stages = [" + "1," * 60_000 + "]")
