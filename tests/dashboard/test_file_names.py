"""Names of files: usable on every system, distinct in every script, and taken apart again."""

import datetime as dt
import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dashboard.file_names import (
    LONGEST_NAME,
    MOST_BYTES,
    MOST_NAME_BYTES,
    RESERVED,
    alike,
    file_stem,
    is_case_name,
    removed_name,
    stem_of_removed,
)

MOMENT = dt.datetime(2026, 7, 14, 9, 30, 15, 123456)


@settings(derandomize=True, deadline=None)
@given(st.text(max_size=300))
def test_any_name_of_a_unit_gives_a_plain_name_of_a_file(title):
    stem = file_stem(title)
    assert stem and len(stem) <= LONGEST_NAME + len("unit-")
    assert len(stem.encode("utf-8")) <= MOST_BYTES + len("unit-")
    assert all(sign == "-" or unicodedata.category(sign)[0] in "LMN" for sign in stem)
    assert stem not in RESERVED and not stem.startswith("-") and "--" not in stem
    assert file_stem(stem) in (stem, f"unit-{stem}")


def test_names_of_devices_and_foreign_letters():
    assert file_stem("CON") == "unit-con"
    assert file_stem("Größe 3 / Süd") == "große-3-sud"
    assert file_stem("北翼 2") == "北翼-2"
    assert file_stem("สาขา ๓ ตึกใหม่") == "สาขา-๓-ตึกใหม่"
    assert file_stem("북쪽") == unicodedata.normalize("NFC", "북쪽")
    assert file_stem("❄️🏢") == "snowflake-office-building"
    assert file_stem("❄️ 5") == "5"
    assert file_stem("—") == "em-dash"
    assert file_stem("../../etc/passwd") == "etc-passwd"


def test_two_names_of_one_file_are_alike():
    assert alike("North-Wing") == alike("north-wing") != alike("north-wing-2")
    assert alike(unicodedata.normalize("NFD", "Süd")) == alike("süd")


@settings(derandomize=True, deadline=None)
@given(st.text(min_size=1, max_size=300))
def test_a_removed_name_is_taken_apart_and_fits(title):
    name = removed_name(title, MOMENT)
    assert len(name.encode("utf-8")) <= MOST_NAME_BYTES
    assert title.startswith(stem_of_removed(name))
    if len(title.encode("utf-8")) <= 200:
        assert stem_of_removed(name) == title


def test_names_of_other_forms_are_taken_as_they_are():
    assert removed_name("north", MOMENT) == "north.20260714-093015-123456.toml"
    assert stem_of_removed("north.toml") == "north"
    assert stem_of_removed("two.dots.20260714-093015-123456.toml") == "two.dots"


@pytest.mark.parametrize(
    ("name", "known"),
    [
        ("north.toml", True),
        ("北翼.toml", True),
        ("x" * (MOST_NAME_BYTES - 5) + ".toml", True),
        ("x" * (MOST_NAME_BYTES - 4) + ".toml", False),
        ("翼" * 90 + ".toml", False),
        ("\udcff.toml", True),
        ("\ud800" * 90 + ".toml", False),
        ("north.toml.bak", False),
        (".north.toml", False),
        ("../north.toml", False),
    ],
)
def test_names_that_can_be_those_of_a_case(name, known):
    assert is_case_name(name) == known
