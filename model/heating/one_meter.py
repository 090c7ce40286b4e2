"""One meter for both seasons: blocks and demand of heating on top of the cooling of the same month.

The steps of a tariff with blocks and a month's highest demand are of all that is on the meter. Cooling comes
first, as where a unit does not heat; heating pays what it adds to that: the blocks that its electricity
fills on top of everything else and the cooling, and as much of the demand charge as its peak lies over
that of cooling. So the two seasons together are the bill of the meter, in spring and autumn too.

Assumptions: fouling is the same in both seasons of a month, as it is one coil's. What blocks add belongs to
all stretches of the month alike, a demand charge to the stretch in which the peak falls at that level.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from model.arrays import Array
from model.heating.winter import WinterByLevel
from model.season.tariff import Tariff, block_charge
from model.season.weather_year import MONTHS_PER_YEAR
from model.season.year_by_level import YearByLevel


def on_one_meter(winter: WinterByLevel, cooling: YearByLevel) -> WinterByLevel:
    """A heating season with the charges that depend on a month's whole electricity.

    Parameters
    ----------
    winter : WinterByLevel
        Without them, from `model.heating.winter.winter_by_level` with the same tariff.
    cooling : YearByLevel
        The cooling season of the same units: as many samples, or one.

    Returns
    -------
    WinterByLevel
        The same season where the tariff has neither blocks nor demand rates.
    """
    tariff = cooling.setting.tariff
    added = np.zeros_like(winter.metered)
    if tariff.blocks:
        added += _blocks(winter, cooling, tariff)
    if tariff.demand_rates:
        added += _demands(winter, cooling, tariff)
    if not added.any():
        return winter
    return replace(winter, amounts=replace(winter.amounts, money=winter.amounts.money + added))


def _at_levels(cooling: YearByLevel, values: Array, level: Array) -> Array:
    """Values (samples, levels, ...) of the cooling season at other levels, past the end the last."""
    place = np.clip(level / cooling.level[-1], 0.0, 1.0) * (cooling.level.size - 1)
    low = np.minimum(place.astype(np.int64), cooling.level.size - 2)
    share = (place - low).reshape(-1, *(1,) * (values.ndim - 2))
    return np.asarray(values[:, low] + share * (values[:, low + 1] - values[:, low]))


def _blocks(winter: WinterByLevel, cooling: YearByLevel, tariff: Tariff) -> Array:
    """What blocks add for heating by stretch [money], in proportion to its electricity of the month."""
    of_month = np.eye(MONTHS_PER_YEAR)[winter.month - 1]
    cooled = cooling.amount("energy") @ np.eye(MONTHS_PER_YEAR)[cooling.month - 1]
    cooled = _at_levels(cooling, cooled, winter.level)
    heated = winter.metered @ of_month
    charge = block_charge(tariff, cooled + heated) - block_charge(tariff, cooled)
    rate = np.divide(charge, heated, out=np.zeros_like(heated), where=heated > 0.0)
    return np.asarray(winter.metered * (rate @ of_month.T))


def _demands(winter: WinterByLevel, cooling: YearByLevel, tariff: Tariff) -> Array:
    """What heating adds to the demand charges by stretch [money]."""
    added = np.zeros_like(winter.metered)
    cooled = _at_levels(cooling, cooling.demand, winter.level)
    sample, level = (np.arange(size) for size in added.shape[:2])
    for number, rate in enumerate(tariff.demand_rates):
        beyond = np.maximum(winter.demand[:, :, number] - cooled[:, :, number], 0.0)
        for month in range(MONTHS_PER_YEAR):
            place = winter.demand_stretch[:, :, number, month]
            added[sample[:, None], level, place] += rate.charge(beyond[:, :, month])
    return added
