"""What is written is read back by the standard library."""

import datetime as dt
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.case.toml_text import toml_text

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
VALUES = st.one_of(
    st.booleans(),
    st.integers(-(2**60), 2**60),
    st.floats(allow_nan=False, allow_infinity=False),
    TEXTS,
    st.dates(),
    st.times(),
    st.lists(st.integers(-9, 9), max_size=4),
    st.lists(TEXTS, max_size=3),
)
TABLES = st.recursive(
    st.dictionaries(TEXTS, VALUES, max_size=4),
    lambda inner: st.dictionaries(
        TEXTS, st.one_of(VALUES, inner, st.lists(inner, min_size=1, max_size=3)), max_size=4
    ),
    max_leaves=12,
)


@given(TABLES)
@settings(derandomize=True, deadline=None, max_examples=300)
def test_there_and_back(tables):
    text = toml_text(tables)
    assert tomllib.loads(text) == tables
    assert text == toml_text(tomllib.loads(text))


def test_order_is_kept_and_tables_come_last():
    text = toml_text({"a": 1, "t": {"x": 2.5, "in": [{"y": "z"}, {}]}, "b": [1, 2]})
    assert text == 'a = 1\nb = [1, 2]\n\n[t]\nx = 2.5\n\n[[t.in]]\ny = "z"\n\n[[t.in]]\n'


@pytest.mark.parametrize("value", [float("nan"), float("inf"), None, object(), dt.timedelta(1)])
def test_what_a_case_cannot_hold_is_refused(value):
    with pytest.raises(ValueError, match="case file"):
        toml_text({"a": value})
