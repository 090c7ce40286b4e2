"""Long words on a picture: what fits stays, what does not is broken, smaller or has more room."""

from dataclasses import replace

import numpy as np
import pytest

from dashboard.charts import style
from dashboard.charts.chart import Axis, Bars, Chart
from dashboard.charts.draw_svg import svg
from dashboard.charts.fit_texts import (
    POINTS_PER_MM,
    SIZE,
    SMALL,
    SMALLEST,
    broken,
    end_for_texts,
    name_size,
    names_below,
    text_width,
)

WORDS = "what a blocked face does to the unit in the hottest hour of the year"


def chart(label: str, text: str) -> Chart:
    bars = Bars((label, "b"), np.zeros(2), np.array([100.0, 50.0]), style.CLEAN, "name", (text, text))
    return Chart("title", "", Axis("x", "", 0.0, 110.0), Axis("y"), (bars,))


def test_what_fits_stays_and_the_rest_is_broken():
    assert broken("price", 30.0) == "price"
    lines = broken(WORDS, 30.0).split("\n")
    assert " ".join(lines) == WORDS
    assert len(lines) > 2
    assert all(text_width(one) <= 30.0 * POINTS_PER_MM for one in lines)
    assert broken("unbreakable" * 5, 10.0) == "unbreakable" * 5


def test_bold_and_large_letters_are_wider():
    assert text_width(WORDS, 9.0) == pytest.approx(9.0 / 8.0 * text_width(WORDS, 8.0), rel=1e-6)
    assert text_width(WORDS, 8.0, True) > text_width(WORDS, 8.0)
    assert text_width(" ") == 0.0


def test_names_below_take_the_columns_that_fit():
    short = ["clean", "fouled", "measured", "least"]
    assert names_below(short, 180.0, 4) == (4, SMALL, short)
    columns, letters, names = names_below([f"{one} {WORDS[:24]}" for one in short], 95.0, 4)
    assert (columns, letters) == (2, SMALL) or (columns, letters) == (2, SMALLEST)
    columns, letters, names = names_below([WORDS, WORDS], 95.0, 4)
    assert (columns, letters) == (2, SMALLEST)
    assert all("\n" in one for one in names)


def test_names_of_several_lines_have_their_room():
    assert name_size(["a", "b"], 60.0) == SIZE
    assert 5.0 <= name_size(["a\nb\nc"] * 6, 60.0) < SIZE


def test_the_axis_goes_on_for_long_texts():
    assert end_for_texts(chart("a", "1"), 95.0, 110.0) == 110.0
    assert end_for_texts(chart("a", WORDS), 95.0, 110.0) > 150.0


def test_a_picture_of_long_words_is_drawn_without_a_warning(recwarn):
    long = replace(chart(WORDS[:50], "101 to 610 dollars"), title=WORDS, y=Axis(WORDS))
    assert svg(long, 95.0, 60.0).startswith(b"<?xml")
    assert not [one for one in recwarn if "constrained_layout" in str(one.message)]
