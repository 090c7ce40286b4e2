"""The same plain cycle by the model, by `scipy.optimize.root` on plain `PropsSI` calls, and by TESPy.

The cycle is that of `tests/model/cycle/test_independent_cycle.py`, which shows that the three agree: dry air,
fixed conductances, no pressure drops. TESPy keeps its network and goes on from the solution of the day
before, which is the quickest way to use it; a network built anew stands beside it. So is the model's own time
counted in arrays, and one point at a time.
"""

import logging
import warnings
from collections.abc import Iterator

import numpy as np

from model.cycle.boundary import Conditions
from model.cycle.solve import solve
from tests.bench.rows import Row, least_time, now
from tests.model.cycle.test_independent_cycle import (
    DRY,
    RETURN_TEMPERATURE,
    plain_cycle,
    plain_unit,
    root_solution,
    tespy_plant,
)

NAME = "R410A"
DAYS = tuple(np.linspace(296.0, 316.0, 9).tolist())  # outdoor temperatures [K]
ARRAY = 10_000
PROPSSI_TIMES, TESPY_TIMES = 100.0, 300.0
"""How many times slower than the model each reference should be, a point."""


def references() -> Iterator[Row]:
    """Times a point of all three, and their ratios."""
    cycles = [plain_cycle(NAME, day)[0] for day in DAYS]
    unit, days = plain_unit(NAME), np.linspace(DAYS[0], DAYS[-1], ARRAY)
    own = least_time(lambda: solve(unit, Conditions(days, RETURN_TEMPERATURE, DRY))) / ARRAY
    single = least_time(lambda: solve(unit, Conditions(DAYS[4], RETURN_TEMPERATURE, DRY)), 100)
    yield Row(f"plain cycle, the model in arrays of {ARRAY:,}, a point", 1e3 * own, "ms")
    yield Row("plain cycle, the model one point at a time", 1e3 * single, "ms")
    plain = least_time(lambda: [root_solution(cycle) for cycle in cycles]) / len(cycles)
    yield Row("plain cycle, scipy.optimize.root on PropsSI, a point", 1e3 * plain, "ms")
    yield Row("  over the model's in arrays", plain / own, "times", PROPSSI_TIMES, least=True)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        logging.disable(logging.WARNING)
        built, again = tespy_times()
        logging.disable(logging.NOTSET)
    yield Row("plain cycle, TESPy, network built anew, a point", 1e3 * built, "ms")
    yield Row("plain cycle, TESPy, from the solution of another day, a point", 1e3 * again, "ms")
    yield Row("  over the model's in arrays", again / own, "times", TESPY_TIMES, least=True)


def tespy_times() -> tuple[float, float]:
    """TESPy's time a point [s]: built and solved from pressures 5 % off, and led to other days."""
    cycle, point = plain_cycle(NAME, DAYS[0])
    start = (0.95 * point.suction_pressure, 1.05 * point.discharge_pressure, point.refrigerant_flow)
    numbers = tuple(float(value) for value in start)
    tespy_plant(cycle, numbers)  # what is done once in a process is not counted
    built = least_time(lambda: tespy_plant(cycle, numbers), 3)
    plant = tespy_plant(cycle, numbers)
    times = []
    for day in (*DAYS[1:], *DAYS[-2::-1]):
        plant.outdoor_air.set_attr(T=day)
        begin = now()
        plant.network.solve("design")
        times.append(now() - begin)
        plant.network.assert_convergence()
    return built, float(np.median(times))
