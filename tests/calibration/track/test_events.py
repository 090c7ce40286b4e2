"""Evidence of changes: the quick formula against refitting, and kinds for every reading."""

from dataclasses import replace

import numpy as np
from scipy.special import log_ndtr

from calibration.track.days import daily_visits
from calibration.track.events import (
    CLAIM,
    LEVEL_KINDS,
    Kind,
    _log_odds,
    _most_probable_day,
    dated_again,
    kinds,
    most_probable,
)
from calibration.track.smoother import CLEAN_LEVEL, CLEAN_SPREAD, DatedChange, smoothed
from calibration.track.system import linear_system
from model.season.weather_year import DAYS_PER_YEAR
from tests.made_tracks import demo, made_stretches


def solved_system(level):
    case, baseline = demo()
    (days,) = daily_visits(case, baseline, made_stretches(level))
    ones = np.ones(len(days.day))
    around = [0.1 * ones]
    system = linear_system([days], around, around, [ones], [np.eye(len(days.names))])
    exposure = system.years - system.years[0]
    return system, exposure, smoothed(system, exposure, [], [], False)


def test_the_gain_is_that_of_the_dense_normal_density():
    """Against log N(y; 0, V + k² d d') - log N(y; 0, V), with V written out in full."""
    system, _, answer = solved_system(np.full(12, 0.1))
    rows = system.off.shape[1]
    count = answer.whole.shape[2]
    nodes = int(system.node.max()) + 1
    big = np.zeros((12 * rows, nodes + count))
    for day in range(12):
        place = slice(day * rows, (day + 1) * rows)
        big[place, system.node[day]] = system.slope[day]
        big[place, nodes:] = answer.whole[day]
    prior = answer.factor @ answer.factor.T - big.T @ big
    covariance = np.eye(12 * rows) + big @ np.linalg.solve(prior, big.T)
    # residual of the prior mean: V times what is left of the answer
    off = covariance @ answer.residual.ravel()
    kind = Kind("x", "liquid_pressure", "ramp", 0, 10.0, 0.02)
    begin = 5
    since = np.maximum(system.years - system.years[begin], 0.0)
    aimed = (system.directions["liquid_pressure"] * since[:, None]).ravel()
    wide = covariance + kind.size**2 * np.outer(aimed, aimed)

    def density(matrix):
        return -0.5 * off @ np.linalg.solve(matrix, off) - 0.5 * np.linalg.slogdet(matrix)[1]

    width = max(system.years[begin] - system.years[begin - 1], 1.0 / DAYS_PER_YEAR)
    expected = density(wide) - density(covariance) + np.log(kind.rate * width)
    np.testing.assert_allclose(_log_odds(system, answer, kind)[begin], expected, rtol=1e-3, atol=1e-3)


def test_a_return_to_clean_is_a_step_of_the_size_of_the_level_before_it():
    """Against the normal density with the step written out: its mean and spread follow from base and rate."""
    system, _, answer = solved_system(np.full(12, 0.1))
    kind = next(kind for kind in LEVEL_KINDS if kind.form == "return")
    begin, count = 6, len(answer.factor)
    matrix, aimed = answer.factor @ answer.factor.T, np.zeros(count)
    after = np.arange(12) >= begin
    nodes = count - answer.whole.shape[2]
    pull = float(np.sum(system.slope[after] * answer.residual[after]))
    for day in np.flatnonzero(after):
        aimed[system.node[day]] += system.slope[day] @ system.slope[day]
        aimed[nodes:] += system.slope[day] @ answer.whole[day]
    length = np.sum(system.slope[after] ** 2)
    row, level = answer.smooth[begin], answer.smooth_level[begin]
    # unknowns less their answer, and the step; its prior is a reading of the level after it
    own = np.append(row, 1.0)
    big = np.block([[matrix, aimed[:, None]], [aimed[None], np.array([[length]])]])
    big += np.outer(own, own) / CLEAN_SPREAD**2
    right = np.append(np.zeros(count), pull) + own * (CLEAN_LEVEL - level) / CLEAN_SPREAD**2
    gain = 0.5 * right @ np.linalg.solve(big, right) - 0.5 * (CLEAN_LEVEL - level) ** 2 / CLEAN_SPREAD**2
    gain += 0.5 * (np.linalg.slogdet(matrix)[1] - np.linalg.slogdet(big)[1]) - np.log(CLEAN_SPREAD)
    step, variance = np.linalg.solve(big, right)[-1], np.linalg.inv(big)[-1, -1]
    width = system.years[begin] - system.years[begin - 1]
    expected = gain + log_ndtr(-step / np.sqrt(variance)) + np.log(kind.rate * width)
    np.testing.assert_allclose(_log_odds(system, answer, kind)[begin], expected, rtol=2e-2, atol=2e-2)


def test_every_sensor_may_shift_and_drift():
    system, _, _ = solved_system(np.full(8, 0.1))
    found = {kind.key for kind in kinds(system)}
    for name in ("outdoor_db", "return_db", "liquid_pressure", "outdoor_power"):
        assert {f"step:{name}", f"drift:{name}"} <= found
    assert {kind.key for kind in LEVEL_KINDS} <= found


def test_a_change_that_is_there_is_not_found_again_on_its_days():
    level = np.concatenate([np.full(30, 0.3), np.full(30, 0.02)])
    system, _, answer = solved_system(level)
    found = most_probable(system, answer)
    assert found is not None and found.change.kind == "cleaned" and found.probability > CLAIM
    day, first = np.floor(np.array([found.change.years, system.years[0]]) * DAYS_PER_YEAR + 1e-6)
    assert day - first == 30
    other = most_probable(system, answer, [found.change])
    assert other is None or other.change.direction or abs(other.change.years - found.change.years) > 2 / 365.0


def test_a_change_is_dated_anew_where_the_readings_put_it():
    level = np.concatenate([np.full(30, 0.3), np.full(30, 0.02)])
    system, _, answer = solved_system(level)
    found = most_probable(system, answer)
    late = DatedChange("cleaned", "", "step", found.change.years + 9.0 / DAYS_PER_YEAR, 3.0)
    again = dated_again(system, answer, replace(found, change=late), [])
    assert again.change.years == found.change.years
    assert again.first <= again.change.years <= again.last


def test_the_day_is_the_one_about_which_it_is_probable_and_in_a_gap_the_middle():
    years = 50.0 + np.arange(40) / DAYS_PER_YEAR
    logs = np.full(40, -20.0)
    logs[5], logs[20:25] = 0.0, -0.7  # one lucky day, and five days together that are more probable
    kind = LEVEL_KINDS[0]
    change, first, last = _most_probable_day(kind, logs, years)
    assert 20 <= round((change.years - years[0]) * DAYS_PER_YEAR) <= 24
    assert first <= years[5] and last >= years[23]
    gap = np.concatenate([years[:20], years[20:] + 10.0 / DAYS_PER_YEAR])
    logs = np.full(40, -20.0)
    logs[20] = 0.0
    change, _, _ = _most_probable_day(kind, logs, gap)
    assert round((change.years - gap[19]) * DAYS_PER_YEAR) in (5, 6)
