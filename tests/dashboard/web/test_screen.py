import re

from hypothesis import given
from hypothesis import strategies as st

from dashboard.web.screen import UNSEEN, plain


def read_again(text: str) -> str:
    """What is left of an escaped text when the strokes have been read."""
    return re.sub(r"\\(.)", r"\1", text)


@given(st.text(st.sampled_from("ab 1\\`*_{}[]()#+-.!|<>~$:&;/@w%=\"'"), max_size=40))
def test_a_text_keeps_its_signs_and_none_is_bare(text):
    shown = plain(text)
    assert read_again(shown).replace(UNSEEN, "") == text.strip()
    assert not re.search(r"(?<!\\)(?:\\\\)*[`*_\[\]<$&!|~]", shown)


def test_what_streamlit_reads_again_is_parted():
    for text in (
        ":material/home:", ":smile:", ":100:", ":+1:", ":streamlit:", "http://a.example", "https://a.example",
        "www.a.example", "WWW.a.example", "x@a.example", "a -> b", "a <- b", "a <-> b", "a -- b", "a >= b",
    ):  # fmt: skip
        again = read_again(plain(text))
        assert UNSEEN in again, text
        found = re.search(r":material/|:[\w+-]+:|https?://|www\.|\w@|->|<-|--|>=", again, re.IGNORECASE)
        assert found is None, text
    assert UNSEEN not in plain("2026-05-19 14:30 · 3 visits, R410A: 12.1 Btu/(W h)")


def test_lines_stay_lines_and_make_no_block():
    assert plain("one\n\n    two\t") == "one  \n  \ntwo"
