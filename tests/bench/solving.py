"""The solver: arrays of points, one point, tables of properties, growth of cost.

`python -m tests.bench.solving` with `cold`, `tables NAME` or `points COUNT` is the child process that
measures one of these from a fresh start.
"""

import json
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from model.cycle.boundary import Conditions
from model.cycle.faults import Faults
from model.cycle.sizing import nominal_unit
from model.cycle.solve import solve
from model.properties import property_cache, refrigerant_tables
from tests.bench.children import child
from tests.bench.rows import Row, least_time, now

ARRAY = 10_000
COUNTS = (10, 100, 1_000, 10_000, 100_000, 1_000_000)
RANDOM_STATE = 20_261_125
TABLES_WANTED = {"R410A": 0.2, "R454B": 0.5}  # [s]
UNIT = "R410A", 8800.0, 3.0


def field_points(count: int) -> tuple[Conditions, Faults]:
    """Days of a cooling season and what may be wrong, evenly over: 288 to 318 K outdoors, 293 to 305 K return
    air of 6 to 14 g/kg, up to half of the condenser's face blocked, up to a tenth of the charge missing or
    in excess.
    """
    outdoor, returned, humidity, blocked, charge = np.random.default_rng(RANDOM_STATE).random((5, count))
    return (
        Conditions(288.0 + 30.0 * outdoor, 293.0 + 12.0 * returned, 0.006 + 0.008 * humidity),
        Faults(condenser_blocked=0.5 * blocked, charge_change=0.2 * (charge - 0.5)),
    )


def points() -> Iterator[Row]:
    """Arrays of ten thousand points."""
    unit, (weather, faults) = nominal_unit(*UNIT), field_points(ARRAY)
    seconds = least_time(lambda: solve(unit, weather, faults))
    yield Row(f"points a second in arrays of {ARRAY:,}", ARRAY / seconds, "1/s", 20_000.0, least=True)


def one_point() -> Iterator[Row]:
    """One point in a fresh process and in a warm one."""
    fresh = [child(["-m", "tests.bench.solving", "cold"]) for _ in range(3)]
    solved = 1e3 * min(float(one.told) for one in fresh)
    yield Row("one point, cold: first solve of a fresh process, unit made", solved, "ms")
    whole = 1e3 * min(one.seconds for one in fresh)
    yield Row("that process: start, imports, tables from a file, unit, solve", whole, "ms")
    unit = nominal_unit(*UNIT)
    for what, weather, faults in (
        ("rating weather, clean", Conditions(308.15, 299.82, 0.0112), Faults()),
        ("hot day, 30 % of the face blocked", Conditions(313.15, 299.82, 0.0112), Faults(0.3)),
    ):
        seconds = least_time(lambda w=weather, c=faults: solve(unit, w, c), 300)
        yield Row(f"one point, warm: {what}", 1e3 * seconds, "ms", 3.0)


def tables() -> Iterator[Row]:
    """Tables of properties from nothing and from a file."""
    for name, wanted in TABLES_WANTED.items():
        times = [json.loads(child(["-m", "tests.bench.solving", "tables", name]).told) for _ in range(3)]
        least = {key: min(row[key] for row in times) for key in times[0]}
        yield Row(f"tables of {name} from nothing", least["built"], "s", wanted)
        yield Row(f"tables of {name} from a file", least["loaded"], "s")
    yield Row("import of CoolProp and SciPy's splines, needed to build only", least["imported"], "s")


def growth() -> Iterator[Row]:
    """Cost of ten points to a million, each count in a process of its own."""
    for count in COUNTS:
        done = child(["-m", "tests.bench.solving", "points", str(count)])
        seconds = float(done.told)
        yield Row(f"{count:>9,} points at once", seconds, "s")
        yield Row(f"{'':>9} a point", 1e6 * seconds / count, "µs")
        yield Row(f"{'':>9} largest memory of the process", done.megabytes, "MB")


def first_solve() -> float:
    """First solve of this process, the unit made before it [s]."""
    unit = nominal_unit(*UNIT)
    begin = now()
    solve(unit, Conditions(308.15, 299.82, 0.0112))
    return now() - begin


def table_times(name: str) -> dict[str, float]:
    """Imports, tables built the first time in this process, and tables read from a file [s]."""
    begin = now()
    import CoolProp  # noqa: F401
    import scipy.interpolate  # noqa: F401

    imported = now()
    built = refrigerant_tables.build(name)
    ready = now()
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "tables.npz"
        property_cache.store(file, built)
        loaded = least_time(lambda: property_cache.load(file, refrigerant_tables.SHAPES))
    return {"imported": imported - begin, "built": ready - imported, "loaded": loaded}


def main(words: list[str]) -> None:
    """Child process: one measurement on standard output."""
    match words:
        case ["cold"]:
            print(first_solve())
        case ["tables", name]:
            print(json.dumps(table_times(name)))
        case ["points", count]:
            unit, (weather, faults) = nominal_unit(*UNIT), field_points(int(count))
            print(least_time(lambda: solve(unit, weather, faults), 1 if int(count) > ARRAY else 3))
        case _:
            raise SystemExit("cold, tables NAME or points COUNT expected")


if __name__ == "__main__":
    main(sys.argv[1:])
