"""Windows of equal length along a series: the line through each, runs of good ones, how far they reach.

Everything is array work over all windows at once, linear in their number but for a logarithm in `reach`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from model.arrays import Array, BoolArray, IntArray


class WindowLines(NamedTuple):
    """Line through each window: slope a block, scatter about it, mean, share of blocks that are there."""

    slope: Array
    scatter: Array
    mean: Array
    share: Array


def window_lines(values: Array, window: int) -> WindowLines:
    """Line through every window of a series; missing blocks are put between their neighbours.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Evenly spaced, NaN where missing; not all of them.
    window : int
        Length of a window, 3 to n.

    Returns
    -------
    WindowLines
        By the first place of each window, shape (n - window + 1,).
    """
    there = np.isfinite(values)
    place = np.arange(len(values))
    centre = float(np.mean(values[there]))
    whole = np.interp(place, place[there], values[there]) - centre
    ones = np.ones(window)
    offset = np.arange(window) - (window - 1) / 2
    spread = float(np.sum(offset**2))
    mean = np.convolve(whole, ones, "valid") / window
    slope = np.convolve(whole, offset[::-1], "valid") / spread
    squares = np.convolve(whole**2, ones, "valid") - window * mean**2 - slope**2 * spread
    scatter = np.sqrt(np.maximum(squares, 0.0) / (window - 2))
    share = np.convolve(there, ones, "valid") / window
    return WindowLines(slope, scatter, mean + centre, share)


def true_runs(passes: BoolArray) -> list[tuple[int, int]]:
    """First and past-the-last place of every run of true values.

    Parameters
    ----------
    passes : ndarray of bool, shape (n,)
        Any.

    Returns
    -------
    list of (int, int)
        In order.
    """
    edges = np.flatnonzero(np.diff(passes.astype(np.int8), prepend=0, append=0))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def longest_steady(series: list[Array]) -> tuple[int, int]:
    """Start and length of the longest stretch in which no series spans more than 1.

    For every start the reach is found by doubling: tables of the lowest and highest value over 1, 2, 4 …
    places are laid end to end as long as the span allows.

    Parameters
    ----------
    series : list of ndarray, shape (n,)
        At least one.

    Returns
    -------
    int, int
        First place and length.
    """
    count = len(series[0])
    reach = np.full(count, count)
    for values in series:
        reach = np.minimum(reach, reach_of(values))
    length = reach - np.arange(count)
    start = int(np.argmax(length))
    return start, int(length[start])


def reach_of(values: Array) -> IntArray:
    """For every place the first later place at which the values from there on span more than 1.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Any.

    Returns
    -------
    ndarray of int, shape (n,)
        Up to n.
    """
    lows, highs = [values], [values]
    while 2 ** len(lows) <= len(values):
        half = 2 ** (len(lows) - 1)
        lows.append(np.minimum(lows[-1][:-half], lows[-1][half:]))
        highs.append(np.maximum(highs[-1][:-half], highs[-1][half:]))
    place = np.arange(len(values))
    low, high = np.full(len(values), np.inf), np.full(len(values), -np.inf)
    for level in reversed(range(len(lows))):
        step = 2**level
        fits = place + step <= len(values)
        at = np.where(fits, place, 0)
        new_low, new_high = np.minimum(low, lows[level][at]), np.maximum(high, highs[level][at])
        fits &= new_high - new_low <= 1.0
        place = np.where(fits, place + step, place)
        low, high = np.where(fits, new_low, low), np.where(fits, new_high, high)
    return place
