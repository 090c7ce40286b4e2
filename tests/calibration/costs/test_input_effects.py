"""Effects of inputs on a cost, where they are known."""

import numpy as np
import pytest

from calibration.costs.input_effects import input_effects
from calibration.costs.quasi_draws import evenly_spread, normal_scores

NAMES = ("load", "growth", "trip")
SCORES = dict(zip(NAMES, normal_scores(evenly_spread(3, 128, 8)), strict=True))


def test_slopes_of_a_straight_line_come_out_widest_first():
    cost = 200.0 + 5.0 * SCORES["load"] - 30.0 * SCORES["growth"] + 1.0 * SCORES["trip"]
    found = input_effects(SCORES, cost)
    assert [one.name for one in found] == ["growth", "load", "trip"]
    assert found[0].high - found[0].low == pytest.approx(-2.0 * 1.645 * 30.0, rel=1e-3)
    assert 0.5 * (found[0].high + found[0].low) == pytest.approx(cost.mean())


def test_a_bent_cost_has_its_mean_slope():
    """exp(0.3 z) rises in the mean by 0.3 exp(0.045) a score."""
    found = input_effects(SCORES, np.exp(0.3 * SCORES["load"]))
    slope = (found[0].high - found[0].low) / (2.0 * 1.645)
    assert found[0].name == "load"
    assert slope == pytest.approx(0.3 * np.exp(0.045), rel=0.03)


def test_what_does_not_vary_and_too_few_draws_say_nothing():
    found = input_effects({**SCORES, "still": np.ones(128)}, SCORES["load"])
    assert found[0].name == "load"
    assert "still" not in {one.name for one in found}
    few = {name: one[:4] for name, one in SCORES.items()}
    assert input_effects(few, np.ones(4)) == ()
