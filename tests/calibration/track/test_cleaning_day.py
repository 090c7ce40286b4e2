"""What a track costs, and the day when cleaning pays: sooner and dearer where it shows more fouling."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from calibration.track.cleaning_day import cost_so_far, track_costs
from calibration.track.kept import KeptTrack, track_to_keep
from calibration.track.track import fouling_track
from model.maintenance.running_cost import RunningCost
from tests.made_tracks import demo, made_stretches


def test_a_fouled_coil_costs_more_and_is_cleaned_sooner_and_without_a_price_nothing_is_said():
    case, baseline = demo()
    track = track_to_keep(fouling_track(case, baseline, made_stretches(np.full(8, 0.02))))
    fouled = replace(track, level=track.level + 0.45, low=track.low + 0.4, high=track.high + 0.5)
    light, heavy = (track_costs(case, baseline, one) for one in (track, fouled))
    assert heavy is not None and light is not None and heavy.advised.date is not None
    assert light.advised.date is None or heavy.advised.date < light.advised.date
    assert heavy.so_far.low > light.so_far.high >= light.so_far.value
    assert heavy.to_come.value > light.to_come.value > 0.0
    assert heavy.to_come.value > 10.0 * heavy.so_far.value  # a year against a week
    assert track_costs(replace(case, cleaning=replace(case.cleaning, price=None)), baseline, track) is None


def test_the_cost_so_far_is_that_of_every_day_at_its_level():
    """Ten days of a step that costs 5 a step more at level 1: half of that at level 0.5, over two steps."""
    levels = np.linspace(0.0, 1.0, 3)
    cost = 100.0 + np.broadcast_to(5.0 * levels, (1, 73, 3))
    running = RunningCost(levels, np.ascontiguousarray(cost), 0.0 * cost, np.ones(73, dtype=bool), 5)
    first = (dt.date(2026, 6, 1) - dt.date(1970, 1, 1)).days
    seconds = 86_400.0 * (first + np.array([0.5, 9.5]))
    ends = np.array([0.5, 0.5])
    found = KeptTrack(
        seconds, ends, ends - 0.25, ends + 0.25, ends, ends > 9.0, (), rate=0.1, rate_low=0.1, rate_high=0.1
    )
    so_far = cost_so_far(running, found)
    assert (so_far.value, so_far.low, so_far.high) == pytest.approx((5.0, 2.5, 7.5))
