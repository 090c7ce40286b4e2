"""One line of the benchmark's table, and how times are taken."""

import os
import time
from collections.abc import Callable
from typing import NamedTuple

REPEATS = 5
"""The least of so many times counts: what the machine does beside it can only add to a time."""


PROCESSOR = "COILTOLL_BENCH_PROCESSOR"
"""Set in the environment, for this process and its children, where processor time counts, not the clock's."""


def by_processor() -> bool:
    """Whether processor time counts."""
    return PROCESSOR in os.environ


def now() -> float:
    """Time from which differences are taken [s]."""
    return time.process_time() if by_processor() else time.perf_counter()


class Row(NamedTuple):
    """What was measured, the figure and its unit, and what is wanted: at most, or with `least` at least."""

    what: str
    measured: float
    unit: str
    wanted: float | None = None
    least: bool = False

    @property
    def missed(self) -> bool:
        """Whether the figure is on the wrong side of what is wanted."""
        if self.wanted is None:
            return False
        return self.measured < self.wanted if self.least else self.measured > self.wanted

    def __str__(self) -> str:
        """The line of the table."""
        wanted = "" if self.wanted is None else f"{'≥' if self.least else '≤'} {self.wanted:,g}"
        digits = 0 if self.measured >= 1000 else 1 if self.measured >= 100 else 3
        verdict = "  missed" if self.missed else ""
        return f"{self.what:<66}{self.measured:>11,.{digits}f} {self.unit:<10}{wanted:>10}{verdict}"


HEADING = f"{'':<66}{'measured':>11} {'':<10}{'wanted':>10}"


def least_time(action: Callable[[], object], repeats: int = REPEATS) -> float:
    """Shortest time of an action out of some repeats [s]."""
    times = []
    for _ in range(repeats):
        begin = now()
        action()
        times.append(now() - begin)
    return min(times)
