"""A joint plan beside the plan of the condenser alone."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from calibration.case.records import TariffBlock, TariffEntry
from calibration.costs.fouled_unit import fouled_unit
from calibration.costs.joint_plan import joint_plan, joint_running_cost
from calibration.costs.recommendation import recommendation
from calibration.costs.season_case import season_case
from model.heating.one_meter import on_one_meter
from model.maintenance.running_cost import running_cost_of
from model.season.year_by_level import year_by_level
from tests.calibration.costs.two_sided import ENTRY, found
from tests.calibration.heating.test_heating_fit import CASE as HEAT_PUMP
from tests.calibration.heating.test_heating_fit import cooling


def test_doing_more_leaves_less():
    plan = found().joint
    assert plan.clean_per_year < plan.course.cost_per_year
    assert plan.course.cost_per_year <= min(plan.only_per_year.values()) + 1e-6
    assert max(plan.only_per_year.values()) <= plan.never_per_year + 1e-6
    assert plan.course.cost_per_year < plan.only_per_year["condenser"] - 5.0


def test_the_condenser_alone_costs_what_its_own_plan_costs():
    """The same unit by the other way: best dates of the condenser at price and call-out, indoor side left.

    What the indoor side adds besides depends little on when the condenser is cleaned.
    """
    one = found()
    alone = replace(one, joint=None)
    assert one.cleaning.price == ENTRY.price + ENTRY.call_out
    own = recommendation(alone).dates
    joint = one.joint
    assert joint.only_per_year["condenser"] < joint.never_per_year
    assert abs(len(own) - len(recommendation(one).dates)) <= 1


def test_the_recommendation_has_the_dates_of_every_job():
    one = found()
    recommended = recommendation(one)
    jobs = dict(recommended.jobs)
    assert set(jobs) == {"condenser", "indoor coil", "filter"}
    assert jobs["condenser"] == recommended.dates
    visits = {date for dates in jobs.values() for date in dates}
    assert len(visits) == one.joint.course.visits
    assert all(date >= one.unit.today for date in visits)
    assert list(jobs["filter"]) == sorted(jobs["filter"])


def test_jobs_meet_on_visits():
    """With a call-out of more than any job, most visits do more than one."""
    course = found().joint.course
    assert course.plan.sum() > 1.3 * course.visits


@pytest.mark.parametrize("name", ["condenser", "indoor coil", "filter"])
def test_every_job_is_done_as_dear_as_it_is_dirty(name):
    assert len(found().joint.steps[name]) >= 1


HEATS = replace(
    HEAT_PUMP,
    cleaning=replace(
        HEAT_PUMP.cleaning, price=75.0, call_out=90.0, indoor_coil_price=60.0, filter_price=12.0
    ),
    season=replace(HEAT_PUMP.season, tariff=TariffEntry(0.17, blocks=(TariffBlock(700.0 * 3.6e6, 0.08),))),
)


@lru_cache
def heats():
    """Season and unit of a heat pump whose indoor coil and filter foul too; few draws."""
    inputs = season_case(HEATS)
    return inputs, fouled_unit(HEATS, cooling(), inputs, draws=2)


def test_joint_running_cost_counts_both_seasons():
    """At a clean indoor side it is the running cost of the condenser's own plan: the two seasons of one
    meter.
    """
    inputs, unit = heats()
    joint = joint_running_cost(inputs, unit, unit.indoor)
    own = year_by_level(unit.table, inputs.setting)
    winter = on_one_meter(unit.winter.likely, own)
    both = running_cost_of(own).cost[0] + winter.cost_by_step(own.level)[0]
    alone = running_cost_of(own).cost[0]
    assert both.sum(axis=0)[0] > 1.5 * alone.sum(axis=0)[0]
    np.testing.assert_allclose(joint.cost[:, 0], both, rtol=1e-6, atol=1e-6)


def test_a_dirty_filter_costs_a_heat_pump_in_winter_too():
    inputs, unit = heats()
    cost = joint_running_cost(inputs, unit, unit.indoor).cost
    summer_only = joint_running_cost(inputs, replace(unit, winter=None), unit.indoor).cost
    january, july = slice(0, 6), slice(37, 43)
    added = cost[:, 4, 0] - cost[:, 0, 0]
    assert np.all(added[january] > 0.0)
    assert np.all(np.abs(summer_only[january, 4, 0] - summer_only[january, 0, 0]) < added[january])
    heated = (cost - summer_only)[:, 0, 0]
    assert heated[july].sum() < 0.02 * heated[january].sum()


def test_the_first_joint_visit_of_a_heat_pump_is_worth_a_winter():
    """With the winter in them, nothing done for years costs more and the plan still less than that."""
    inputs, unit = heats()
    with_it, without = (joint_plan(inputs, one, 5) for one in (unit, replace(unit, winter=None)))
    assert with_it.never_per_year - with_it.clean_per_year > without.never_per_year - without.clean_per_year
    assert with_it.clean_per_year < with_it.course.cost_per_year < with_it.never_per_year
    assert with_it.course.visits >= without.course.visits
