"""Indoor coil and filter of a case: rates, levels and prices, and what dirt on either does to the unit."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from calibration.costs.indoor_side import FILTER_RATE, RISES, indoor_side
from calibration.costs.season_case import season_case
from model.cycle.faults import Faults
from model.cycle.solve import solve
from model.maintenance.growth import EVAPORATOR_RATE
from tests.calibration.costs.two_sided import CASE, ENTRY
from tests.calibration.demo_in_bins import DEMO, baseline

TODAY = dt.date(2026, 8, 12)


def side(today=TODAY, **entry):
    case = replace(CASE, cleaning=replace(ENTRY, **entry))
    return indoor_side(case, baseline().unit, season_case(case).rooms, today)


def test_levels_are_rates_times_years():
    found = side()
    assert found.coil.level == pytest.approx(0.6 * 2.0, rel=0.01)
    # The filter has no date: as the condenser, it was clean on 19 May.
    assert found.screen.level == pytest.approx(FILTER_RATE * 85 / 365.25)
    assert found.planned == ("condenser", "indoor coil", "filter")
    assert (found.condenser, found.coil.job.price, found.screen.job.price) == (75.0, 60.0, 12.0)
    assert found.coil.job.restoration == ENTRY.restores and found.screen.job.restoration == 1.0


def test_what_is_left_out_is_filled_in_and_said():
    found = side(indoor_coil_rate=None, indoor_coil_cleaned=None, filter_price=None)
    assert found.coil.growth.rate == pytest.approx(EVAPORATOR_RATE)
    assert found.planned == ("condenser", "indoor coil")
    assert (found.screen.growth.rate, found.screen.level) == (0.0, 0.0)
    rate, date = found.assumptions
    assert "no rate of the indoor coil given: its pressure drop is taken to rise by 0.13 times" in rate
    assert "clean on 2026-05-19 assumed" in date


def test_without_prices_there_is_no_plan():
    assert side(indoor_coil_price=None, filter_price=None) is None
    assert side(price=None) is None
    assert indoor_side(DEMO, baseline().unit, season_case(DEMO).rooms, TODAY) is None


def test_a_circuit_has_its_share():
    case = replace(CASE, share=0.5)
    found = indoor_side(case, baseline().unit, season_case(case).rooms, TODAY)
    assert (found.call_out, found.coil.job.price) == (45.0, 30.0)


def test_the_table_is_the_unit_with_dirt_at_its_indoor_coil():
    found, room = side(), season_case(CASE).room
    place = 2
    dirty = Faults(condenser_blocked=0.2, evaporator_dust=float(RISES[place]))
    point = solve(baseline().unit, replace(room, outdoor_temperature=305.0), dirty)
    table = found.table.at(np.full((RISES.size, 1), 305.0), np.full((RISES.size, 1), 0.2))
    assert table.total_capacity[place, 0] == pytest.approx(float(point.net_capacity), rel=5e-3)
    assert np.all(np.diff(table.total_capacity[:, 0]) < 0.0)
