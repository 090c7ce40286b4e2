"""Rules for cleaning on one case: what each costs over the best dates, beside what Rossi and Braun published.

Rossi and Braun simulated a 20-ton unit and report, at most, 11.7 % over the best schedule for cleaning every
year and 4.2 % for cleaning only when comfort is lost. How much a rule costs depends on the price of a
cleaning against that of the dirt, so the study goes through a span of cleaning prices, as a share of what a
year of the case's dirt costs if nothing is done.

References
----------
Rossi, T. M. and Braun, J. E., International Refrigeration and Air Conditioning Conference, Purdue, 1994,
paper 233 (abstract seen).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from calibration.case.records import Case
from calibration.clean_fit.baseline import Baseline, baseline_of
from calibration.costs.season_case import season_case
from model.arrays import Array
from model.maintenance.growth import growth_steps
from model.maintenance.interval import Cleaning, interval_costs
from model.maintenance.policies import Outlook, Upkeep
from model.maintenance.running_cost import running_cost
from model.maintenance.schedule import (
    PUBLISHED_COMFORT_PENALTY,
    PUBLISHED_YEARLY_PENALTY,
    PolicyComparison,
    compare_policies,
)
from model.season.cycle_table import table_of_speeds

PRICES = (0.05, 0.1, 0.2, 0.35, 0.6, 1.0)
"""Prices of a cleaning over a year's cost of a unit that is never cleaned, over that of a clean one [-]."""
YEARS = 12
"""Years over which the rules are followed [a]."""


@dataclass(frozen=True)
class PolicyStudy:
    """Rules at each price of a cleaning.

    Attributes
    ----------
    prices : ndarray, shape (prices,)
        Price of a cleaning [money].
    price_over_neglect : ndarray, shape (prices,)
        The same over what never cleaning costs in a year more than a clean unit [-].
    comparisons : tuple of PolicyComparison
        The rules at each price.
    over_best : dict of str to ndarray, shape (prices,)
        Cost of each rule over the best dates [-].
    never_beaten : bool
        Whether no rule ever cost less than the best dates.
    published : dict of str to float
        Largest costs over the best that Rossi and Braun (1994) report [-].
    """

    prices: Array
    price_over_neglect: Array
    comparisons: tuple[PolicyComparison, ...]
    over_best: dict[str, Array]
    never_beaten: bool
    published: dict[str, float]


def policy_study(
    case: Case,
    baseline: Baseline | None = None,
    shares: tuple[float, ...] = PRICES,
    progress: Callable[[float], None] | None = None,
) -> PolicyStudy:
    """Rules for cleaning on a case's unit, over a span of prices of a cleaning.

    Parameters
    ----------
    case : Case
        Its season, tariff and growth are taken; its price of a cleaning is not.
    baseline : Baseline, optional
        Left out, that of the case.
    shares : tuple of float
        Prices over the yearly cost of neglect [-].
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    PolicyStudy
    """
    inputs = season_case(case)
    table = table_of_speeds((baseline or baseline_of(case)).unit, inputs.rooms)
    running = running_cost(table, inputs.setting)
    growth = growth_steps(inputs.growth, running.days_per_step)
    restoration = inputs.cleaning.restoration if inputs.cleaning else 1.0
    once = interval_costs(running, growth, Cleaning(1.0, restoration))
    neglect = float(once.never_per_year[0] - once.clean_per_year[0])
    prices, comparisons = np.array(shares) * neglect, []
    for done, price in enumerate(prices):
        cleaning = Cleaning(float(price), restoration)
        interval = float(interval_costs(running, growth, cleaning).best_interval[0])
        upkeep = Upkeep(running, growth, cleaning, Outlook(YEARS))
        comparisons.append(compare_policies(upkeep, interval=interval))
        if progress is not None:
            progress((done + 1) / len(prices))
    names = [result.name for result in comparisons[0].results]
    over = {
        name: np.array([comparison.results[place].over_best for comparison in comparisons])
        for place, name in enumerate(names)
    }
    return PolicyStudy(
        prices=prices,
        price_over_neglect=np.array(shares),
        comparisons=tuple(comparisons),
        over_best=over,
        never_beaten=all(bool(np.all(values >= 0.0)) for values in over.values()),
        published={"every year": PUBLISHED_YEARLY_PENALTY, "when comfort is lost": PUBLISHED_COMFORT_PENALTY},
    )
