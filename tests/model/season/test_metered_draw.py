"""What a demand meter sees of a cycling unit, against a compressor switched on and off by hand."""

from __future__ import annotations

import numpy as np
import pytest

from model.season.fouling_cost import season_outcomes
from model.season.metered_draw import CYCLES_AT_HALF, draw_seen, share_seen
from model.season.tariff import DemandRate, Tariff
from model.season.year_by_level import outcome_at, year_by_level
from tests.model.synthetic_unit import synthetic_setting, synthetic_table


def switched(run, minutes):
    """Largest share of an interval with the compressor on, second by second, wherever the interval begins."""
    cycle = 3600.0 / (4.0 * CYCLES_AT_HALF * run * (1.0 - run))
    time = np.arange(0.0, 12.0 * cycle)
    on = (time % cycle) < run * cycle
    running = np.concatenate([[0.0], np.cumsum(on)])
    span = int(60 * minutes)
    return float((running[span:] - running[:-span]).max() / span)


@pytest.mark.parametrize("minutes", [5.0, 15.0, 30.0])
@pytest.mark.parametrize("run", [0.1, 0.25, 0.5, 0.6, 0.75, 0.9])
def test_a_compressor_switched_by_hand(run, minutes):
    assert share_seen(run, minutes) == pytest.approx(switched(run, minutes), abs=0.005)


def test_a_quarter_hour_sees_the_running_draw_from_two_thirds_on():
    """On for 1 / (12 (1 - X)) hours: a quarter of an hour at X = 2/3 (NEMA DC 3, from memory)."""
    share = np.array([0.0, 0.4, 0.66, 0.6667, 0.9, 1.0])
    seen = share_seen(share, 15.0)
    assert seen[0] == 0.0
    assert np.all(seen[1:3] < 1.0)
    assert np.all(seen[3:] == 1.0)
    assert np.all(share_seen(np.linspace(0.0, 1.0, 101), 30.0) >= np.linspace(0.0, 1.0, 101))


def test_an_hour_is_its_mean():
    np.testing.assert_array_equal(share_seen(np.array([0.0, 0.3, 1.0]), 60.0), [0.0, 0.3, 1.0])


def test_stages_alternate_with_the_one_below():
    """80 % at the high stage of 4 kW, the rest at the low one of 2 kW: a quarter of an hour sees 4 kW."""
    shares = np.array([[0.2, 0.5], [0.8, 0.0]])
    draw = draw_seen([np.array(50.0), np.array(2000.0), np.array(4000.0)], shares, 15.0)
    assert draw[0] == pytest.approx(4000.0)
    assert draw[1] == pytest.approx(50.0 + 1950.0 * float(share_seen(0.5, 15.0)))
    mean = draw_seen([np.array(50.0), np.array(2000.0), np.array(4000.0)], shares, 60.0)
    np.testing.assert_allclose(mean, [0.8 * 4000.0 + 0.2 * 2000.0, 0.5 * 2000.0 + 0.5 * 50.0])


def test_a_year_is_charged_for_what_the_meter_sees():
    """By levels and hour by hour the same; never less than by the hour, never more than the running draw."""
    charged = {}
    for minutes in (15.0, 60.0):
        setting = synthetic_setting(Tariff(0.15, (), (DemandRate(9.0),), demand_minutes=minutes), 7000.0)
        exact = season_outcomes(synthetic_table(), setting, 0.2).bill.demand_cents[0]
        found = outcome_at(year_by_level(synthetic_table(), setting), [[0.2]]).bill.demand_cents[0]
        np.testing.assert_allclose(found, exact, rtol=5e-3, atol=5)
        charged[minutes] = exact
    hot = charged[60.0] > 0
    assert np.all(charged[15.0][hot] >= charged[60.0][hot])
    assert charged[15.0].sum() > 1.15 * charged[60.0].sum()
    assert charged[15.0].max() < 9.0 * 100.0 * 4.2


def test_an_interval_that_no_meter_has_is_refused():
    with pytest.raises(ValueError, match=r"minutes must lie in \[5, 60\], got 90"):
        share_seen(0.5, 90.0)
