"""What a demand meter sees of a unit that cycles: the highest mean power over one of its intervals.

A thermostat that cycles `CYCLES_AT_HALF` times an hour at half load cycles 4 n X (1 - X) times an hour at a
share X of the time running: it is on for 1 / (4 n (1 - X)) hours and off for 1 / (4 n X). An interval of the
meter that begins with the compressor sees it for as much of that as fits. A quarter-hourly meter so sees the
running draw from two thirds of the time on; an hourly one sees the mean of the hour, whatever comes in it.

References
----------
NEMA DC 3, three cycles an hour at half load, and the parabola of cycles over load: from memory.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array

CYCLES_AT_HALF = 3.0
"""Cycles of a thermostat at half load [1/h] (NEMA DC 3, from memory)."""
HOURLY = 60.0
"""Interval of a meter that sees the mean of an hour [min]."""
SHORTEST_INTERVAL = 5.0
"""Shortest interval of a meter [min]."""


def share_seen(run_share: ArrayLike, minutes: float) -> Array:
    """Largest share of a meter's interval in which a cycling compressor runs.

    Parameters
    ----------
    run_share : array_like
        Share of the hour that it runs [-], in [0, 1].
    minutes : float
        Interval of the meter [min], `SHORTEST_INTERVAL` to `HOURLY`.

    Returns
    -------
    ndarray
        [-], not below `run_share`; 0 where it does not run.

    Raises
    ------
    ValueError
        Where the interval is out of its range.

    References
    ----------
    Derived here from the cycles of NEMA DC 3.
    """
    if not SHORTEST_INTERVAL <= minutes <= HOURLY:
        raise ValueError(f"minutes must lie in [{SHORTEST_INTERVAL:g}, {HOURLY:g}], got {minutes:g}")
    run = np.asarray(run_share, dtype=float)
    if minutes == HOURLY:
        return run.copy()
    interval = minutes / HOURLY
    some = np.clip(run, 1e-6, 1.0 - 1e-6)
    on, off = (1.0 / (4.0 * CYCLES_AT_HALF * one) for one in (1.0 - some, some))
    whole = np.floor(interval / (on + off))
    rest = interval - whole * (on + off)
    seen = (whole * on + np.minimum(rest, on)) / interval
    return np.asarray(np.where(run > 0.0, np.maximum(np.minimum(seen, 1.0), run), 0.0))


def draw_seen(powers: Sequence[Array], shares: Array, minutes: float) -> Array:
    """Highest mean power over a meter's interval.

    Parameters
    ----------
    powers : sequence of ndarray
        Power while off, then at each speed, slowest first [W].
    shares : ndarray, shape (speeds, ...)
        Share of the time at each speed [-]; the fastest at work alternates with the state below it.
    minutes : float
        Interval of the meter [min].

    Returns
    -------
    ndarray
        [W].

    References
    ----------
    Derived here.
    """
    draw = np.broadcast_to(powers[0], shares.shape[1:])
    for share, below, at_work in zip(shares, powers, powers[1:], strict=False):
        busiest = below + (at_work - below) * share_seen(share, minutes)
        draw = np.where(share > 0.0, busiest, draw)
    return np.asarray(draw)
