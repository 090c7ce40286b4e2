"""Words of a result that know their parts."""

import copy
import json

import pytest

from calibration.said import Said, filled, said


def test_it_is_the_english_text():
    words = said("visit {visit} of {date}", visit="late", date="2026-08-12")
    assert words == "visit late of 2026-08-12"
    assert json.dumps({"from": words}) == '{"from": "visit late of 2026-08-12"}'
    assert (words.english, words.values) == (
        "visit {visit} of {date}",
        {"visit": "late", "date": "2026-08-12"},
    )


def test_copies_keep_the_parts():
    words = said("{source}, and more", source=said("other units"))
    other = copy.deepcopy(words)
    assert isinstance(other, Said)
    assert (other, other.english, other.values) == (words, words.english, words.values)


def test_a_name_without_a_value_is_an_error():
    with pytest.raises(KeyError):
        filled("{visit} of {date}", {"visit": "late"})
    assert filled("{visit}", {}) == "{visit}"
