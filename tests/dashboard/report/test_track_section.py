"""The report's section on a kept track: there with its figures and pictures, and only where one is kept."""

from dataclasses import replace

import pytest

from calibration.track.cleaning_day import track_costs
from calibration.track.kept import kept_track, track_to_keep, with_track
from calibration.track.track import fouling_track
from dashboard.report.comparison_report import comparison_report
from dashboard.report.html import html
from dashboard.report.parts import Picture, Points
from dashboard.report.track_section import track_sections
from dashboard.results.track import level_sentences
from tests.made_tracks import burst_level, made_stretches


@pytest.fixture(scope="module")
def tracked(demo):
    """The demo with the track of an invented log."""
    found = fouling_track(demo.case, demo.baseline, made_stretches(burst_level(40, 25)))
    return with_track(demo.case, track_to_keep(found))


def test_nothing_is_said_without_a_track(demo):
    assert track_sections(demo.case, demo.baseline, "US") == ()


def test_it_says_what_the_command_says_and_shows_level_and_weather(tracked, demo):
    (section,) = track_sections(tracked, demo.baseline, "US")
    (points,) = [block for block in section.blocks if isinstance(block, Points)]
    kept = kept_track(tracked)
    lines = level_sentences(kept, track_costs(tracked, demo.baseline, kept), tracked.currency)
    assert points.sentences[: len(lines)] == tuple(lines)
    assert "2026-06-14: fouling removed: a cleaning." in points.sentences
    level, weather = (block for block in section.blocks if isinstance(block, Picture))
    assert (
        "Blocked share of the condenser's face" in level.description and "Outdoor air" in weather.description
    )


def test_it_stands_in_the_printed_report(tracked, demo):
    bare = replace(tracked, cleaning=replace(tracked.cleaning, price=None))
    text = html(comparison_report(bare, demo.baseline, demo.comparison, "US"))
    assert "Fouling over the months of a log" in text
    assert "Cost of the fouling" not in text  # nothing is priced without a price
