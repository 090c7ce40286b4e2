"""The plan is the best of all on small fleets, obeys hours, call-outs and dates, and beats what people do."""

from itertools import product

import numpy as np
import pytest

from calibration.fleet.jobs_to_plan import UnitJob
from calibration.fleet.plan import NOT_PLANNED, Crews, plan_of, value_of, visits_of
from calibration.fleet.simple_plans import by_route, worst_first


def jobs_of(seed, units, sites, weeks, hours=1.5):
    """Invented jobs whose saving falls week by week, some below their price."""
    draw = np.random.default_rng(seed)
    found = []
    for number in range(units):
        first = draw.lognormal(5.3, 0.6)
        saving = first * np.clip(1.0 - np.arange(weeks) / weeks * draw.uniform(0.2, 1.0), 0.0, None)
        site = f"site {int(draw.integers(sites)):03d}"
        found.append(UnitJob(f"unit {number}", site, "clean", hours, 150.0, saving))
    return found


def hours_of(jobs, crews, weeks):
    """Hours of each week that a plan takes, ways among them [h]."""
    used = np.zeros(crews.days.size)
    for week in range(used.size):
        for site in {job.site for job in jobs}:
            here = sum(j.hours for j, at in zip(jobs, weeks, strict=True) if at == week and j.site == site)
            used[week] += here + crews.travel_hours * np.ceil(here / crews.hours_at_site - 1e-9)
    return used


def best_of_all(jobs, crews):
    """Greatest value over every way to give each job a week or none."""
    best = -np.inf
    for weeks in product(range(NOT_PLANNED, crews.days.size), repeat=len(jobs)):
        late = any(
            job.must_by is not None and not 0 <= week <= job.must_by
            for job, week in zip(jobs, weeks, strict=True)
        )
        if not late and (hours_of(jobs, crews, weeks) <= crews.days * crews.hours_a_day + 1e-9).all():
            best = max(best, value_of(jobs, crews, np.array(weeks)))
    return best


@pytest.mark.parametrize("seed", range(4))
def test_nothing_is_better_on_small_fleets(seed):
    jobs = jobs_of(seed, 5, 3, 3)
    crews = Crews(np.array([1, 1, 1]), hours_a_day=5.0)
    plan = plan_of(jobs, crews, gap=0.0)
    assert plan.value == pytest.approx(best_of_all(jobs, crews), abs=1e-6)
    assert plan.bound == pytest.approx(plan.value, abs=1e-6)


def test_what_must_be_done_is_done_in_time_although_it_costs():
    jobs = jobs_of(1, 5, 3, 3)
    must = UnitJob("poor", "far", "clean", 1.5, 150.0, np.zeros(3), must_by=1)
    crews = Crews(np.array([1, 1, 1]), hours_a_day=5.0)
    plan = plan_of([*jobs, must], crews, gap=0.0)
    assert 0 <= plan.weeks[-1] <= 1
    assert plan.value == pytest.approx(best_of_all([*jobs, must], crews), abs=1e-6)
    with pytest.raises(ValueError, match="must be done: what has to be done by its date does not"):
        plan_of([must] * 9, Crews(np.array([1, 0, 1]), hours_a_day=3.0))


def test_a_call_out_is_paid_once_for_a_site_and_day():
    saving = np.array([250.0, 0.0])
    near = [UnitJob(name, "here", "clean", 2.0, 150.0, saving) for name in "abc"]
    crews = Crews(np.array([5, 0]), hours_a_day=8.0, travel_hours=1.0, call_out=90.0)
    plan = plan_of(near, crews, gap=0.0)
    assert (plan.visits, plan.value) == (1, pytest.approx(3 * 100 - 90))
    apart = [UnitJob(name, name, "clean", 2.0, 150.0, saving) for name in "abc"]
    assert plan_of(apart, crews, gap=0.0).value == pytest.approx(3 * 10)
    assert visits_of(near * 2, crews, np.zeros(6, dtype=np.int64)) == 2


def test_no_week_has_more_hours_than_its_crews():
    jobs = jobs_of(3, 60, 15, 6)
    crews = Crews(np.array([2, 2, 0, 2, 2, 2]))
    plan = plan_of(jobs, crews)
    assert (hours_of(jobs, crews, plan.weeks) <= crews.days * crews.hours_a_day + 1e-6).all()
    assert not (plan.weeks == 2).any()


@pytest.mark.parametrize("rival", [worst_first, by_route])
def test_it_gains_more_than_plans_without_a_program(rival):
    jobs = jobs_of(5, 120, 30, 8)
    crews = Crews(np.full(8, 3))
    ours, other = plan_of(jobs, crews), rival(jobs, crews)
    assert ours.value > other.value
    assert (hours_of(jobs, crews, other.weeks) <= crews.days * crews.hours_a_day + 1e-6).all()
    assert other.visits == visits_of(jobs, crews, other.weeks)


def test_blocks_of_a_large_fleet_come_near_to_the_whole():
    jobs = jobs_of(7, 150, 40, 6)
    crews = Crews(np.full(6, 4))
    whole, blocks = plan_of(jobs, crews), plan_of(jobs, crews, most_at_once=40)
    assert (hours_of(jobs, crews, blocks.weeks) <= crews.days * crews.hours_a_day + 1e-6).all()
    assert blocks.bound >= whole.value - 1e-6
    assert blocks.value >= 0.9 * whole.value
    assert blocks.value > max(worst_first(jobs, crews).value, by_route(jobs, crews).value)


def test_a_job_longer_than_a_day_is_refused_and_no_job_is_no_plan():
    with pytest.raises(ValueError, match=r"clean takes 9 h; at most 7\.5 h are expected"):
        plan_of(jobs_of(1, 2, 1, 2, hours=9.0), Crews(np.array([5, 5])))
    assert plan_of([], Crews(np.array([5]))).gap == 0.0
