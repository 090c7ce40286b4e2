"""Words of a track: every kind has some, and what cannot be separated is named together."""

import datetime as dt

import pytest

from calibration.studies.track import TrackScore
from calibration.track.events import LEVEL_KINDS
from calibration.track.track import TrackEvent
from dashboard.results.track import STUDY_HEADINGS, change_words, event_words, kind_words, study_rows


@pytest.mark.parametrize("kind", [*(one.key for one in LEVEL_KINDS), "known_cleaning", "drift:outdoor_db"])
def test_every_kind_has_words(kind):
    assert kind_words(kind)
    assert "_" not in kind_words(kind)


def test_kinds_that_are_alike_are_named_together():
    day = dt.date(2026, 6, 1)
    kinds = (("cleaned", 0.6), ("drift:outdoor_db", 0.35), ("leak", 0.05))
    words = event_words(TrackEvent("cleaned", day, day, day, 0.99, kinds, -0.2))
    assert "60 %" in words and "35 %" in words and " or " in words and "leak" not in words
    alone = TrackEvent("cleaned", day, day, day, 0.99, (("cleaned", 0.95), ("leak", 0.05)), -0.2)
    assert event_words(alone) == kind_words("cleaned")


def test_a_study_has_a_cell_under_every_heading():
    score = TrackScore(10, 0.9, 0.03, 0.1, 0.12, 0.9, 5, 4, 3, 3, 0.2)
    (row,) = study_rows({"gauges": score})
    assert len(row) == len(STUDY_HEADINGS)
    assert row[6:8] == ["4 of 5", "3 of 3"]


def test_kept_kinds_have_the_same_words_and_unknown_ones_stay():
    assert change_words("cleaned or drift:outdoor_db") == " or ".join(
        (kind_words("cleaned"), kind_words("drift:outdoor_db"))
    )
    assert change_words("a new fence") == "a new fence"
