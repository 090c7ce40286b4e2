"""Texts in a language: what is found, what stays English, and that no other thread sees it."""

import copy
from concurrent.futures import ThreadPoolExecutor
from gettext import NullTranslations

import pytest

from calibration.said import said
from dashboard.texts.translate import ENGLISH, Language, capital, in_language, language_code, tr, tr_many


class German(NullTranslations):
    """Three texts."""

    def gettext(self, message: str) -> str:
        return {"{share} of the face": "{share} der Fläche", "the filter": "der Filter"}.get(message, message)

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return {"{number} visit": ("{number} Besuch", "{number} Besuche")}[msgid1][n != 1]


GERMAN = Language("de", German())


def test_english_stands_without_a_language():
    assert tr("{share} of the face", share="46 %") == "46 % of the face"
    assert tr_many("{number} visit", "{number} visits", 1) == "1 visit"
    assert tr_many("{number} visit", "{number} visits", 0) == "0 visits"
    assert tr("") == ""
    assert language_code() == "en"


def test_a_language_is_used_inside_alone():
    with in_language(GERMAN):
        assert tr("{share} of the face", share="46 %") == "46 % der Fläche"
        assert tr_many("{number} visit", "{number} visits", 2, number="zwei") == "zwei Besuche"
        assert tr("Not in the file, {share}.", share="1") == "Not in the file, 1."
        assert language_code() == "de"
        with in_language(ENGLISH):
            assert tr("the filter") == "the filter"
        assert tr("the filter") == "der Filter"
    assert tr("the filter") == "the filter"


def test_it_ends_with_an_error_too():
    with pytest.raises(ZeroDivisionError), in_language(GERMAN):
        _ = 1 / 0
    assert language_code() == "en"


def test_another_thread_does_not_see_it():
    with in_language(GERMAN), ThreadPoolExecutor(1) as pool:
        assert pool.submit(tr, "the filter").result() == "the filter"


def test_a_value_is_never_read_as_a_text():
    assert tr("{share} of the face", share="{share} {0.__class__}") == "{share} {0.__class__} of the face"
    assert tr("100 {") == "100 {"


def test_words_of_a_result_are_said_with_their_parts():
    words = said("{share} of the face", share=said("the filter"))
    assert words == "the filter of the face"
    for one in (words, copy.deepcopy(words), copy.copy(words)):
        with in_language(GERMAN):
            assert tr(one) == "der Filter der Fläche"
        assert tr(one) == words


def test_a_capital_begins_a_sentence():
    assert capital("the coil") == "The coil"
    assert capital("") == ""
