"""The day when cleaning pays: sooner where the track shows more fouling, nothing without a price."""

from dataclasses import replace

import numpy as np

from calibration.track.cleaning_day import cleaning_day, with_growth
from calibration.track.track import fouling_track
from tests.made_tracks import demo, made_stretches


def test_a_fouled_coil_is_cleaned_sooner_and_without_a_price_nothing_is_said():
    case, baseline = demo()
    track = fouling_track(case, baseline, made_stretches(np.full(8, 0.02)))
    fouled = replace(track, level=track.level + 0.45, low=track.low + 0.4, high=track.high + 0.5)
    light, heavy = (cleaning_day(case, baseline, one) for one in (track, fouled))
    assert heavy is not None and light is not None and heavy.date is not None
    assert light.date is None or heavy.date < light.date
    assert cleaning_day(replace(case, cleaning=replace(case.cleaning, price=None)), baseline, track) is None


def test_the_measured_growth_takes_the_place_of_the_rate_alone():
    case, baseline = demo()
    track = replace(fouling_track(case, baseline, made_stretches(np.full(8, 0.02))), rate=0.12345)
    grown = with_growth(case, track)
    assert grown.cleaning.growth_rate == 0.123
    assert replace(grown, cleaning=replace(grown.cleaning, growth_rate=case.cleaning.growth_rate)) == case
    assert with_growth(replace(case, cleaning=None), track).cleaning.growth_rate == 0.123
