"""A joint plan beside the plan of the condenser alone."""

from dataclasses import replace

import pytest

from calibration.costs.recommendation import recommendation
from tests.calibration.costs.two_sided import ENTRY, found


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
