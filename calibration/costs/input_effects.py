"""What the cost of fouling depends on: how far each input that is drawn moves its mean.

The money of all draws is fitted by a straight line over the standard normal scores of every input at once; an
input's effect is its slope over the 5th to the 95th percentile of what is not known of it. Draws are spread
evenly, so that the inputs hardly overlap.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from model.arrays import Array
from model.maintenance.growth import NORMAL_95


class InputEffect(NamedTuple):
    """An input, and the mean cost with it at its 5th and at its 95th percentile, in the unit of the cost."""

    name: str
    low: float
    high: float


def input_effects(scores: Mapping[str, Array], cost: Array) -> tuple[InputEffect, ...]:
    """Effect of each input on a cost, the widest first.

    Parameters
    ----------
    scores : mapping of str to ndarray, shape (draws,)
        Standard normal score of every draw by input [-]; an input that is the same in all draws is left out.
    cost : ndarray, shape (draws,)
        Of every draw, in a unit of which a millionth does not matter.

    Returns
    -------
    tuple of InputEffect
    """
    varied = {name: one for name, one in scores.items() if float(np.std(one)) > 0.0}
    if len(cost) < len(varied) + 2:
        return ()
    columns = np.stack([np.ones(len(cost)), *varied.values()], axis=1)
    slopes = np.linalg.lstsq(columns, cost, rcond=None)[0][1:]
    mean = float(np.mean(cost))
    effects = [
        InputEffect(
            name, round(mean - NORMAL_95 * float(slope), 6), round(mean + NORMAL_95 * float(slope), 6)
        )
        for name, slope in zip(varied, slopes, strict=True)
    ]
    return tuple(sorted(effects, key=lambda one: -abs(one.high - one.low)))
