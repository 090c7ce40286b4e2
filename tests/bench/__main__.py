"""How quick everything is, beside what is wanted: `make bench`, or `python -m tests.bench [PART ...]`.

Everything runs one after the other, bound to one processor where the system allows it, on one thread. Each
figure is the least of some repeats, but for TESPy's, a median over days. Times hold for the machine and its
load. The end is good whatever is missed: a row says so.
"""

import argparse
import os
import platform
import sys
from collections.abc import Callable, Iterator
from importlib.metadata import PackageNotFoundError, version

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[threads] = "1"  # read when NumPy is imported, so before the parts are

from tests.bench.fleet import pages  # noqa: E402
from tests.bench.inference import commands, fit, match, seasons, settle  # noqa: E402
from tests.bench.rows import HEADING, PROCESSOR, Row  # noqa: E402
from tests.bench.solving import growth, one_point, points, tables  # noqa: E402


def references() -> Iterator[Row]:
    """The model beside two other ways; left out where TESPy is not installed."""
    try:
        version("tespy")
    except PackageNotFoundError:
        print("references: TESPy is not installed; `make bench` or pip install '.[bench]' brings it")
        return
    from tests.bench import references

    yield from references.references()


PARTS: dict[str, Callable[[], Iterator[Row]]] = {
    "points": points,
    "point": one_point,
    "references": references,
    "tables": tables,
    "fit": fit,
    "match": match,
    "commands": commands,
    "seasons": seasons,
    "log": settle,
    "growth": growth,
    "fleet": pages,
}


def main(argv: list[str] | None = None) -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__.splitlines()[0])
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"of {', '.join(PARTS)}; all by default")
    parser.add_argument(
        "--processor", action="store_true", help="count processor time, for a machine that is busy"
    )
    words = parser.parse_args(argv)
    if words.processor:
        os.environ[PROCESSOR] = "1"
    chosen = words.parts or list(PARTS)
    for name in chosen:
        if name not in PARTS:
            parser.error(f"part must be one of {', '.join(PARTS)}, got {name}")
    clock = "processor time" if words.processor else "time by the clock"
    print(f"{_one_processor()}, {clock}, Python {platform.python_version()}, NumPy {version('numpy')}")
    print(HEADING)
    missed = 0
    for name in chosen:
        for row in PARTS[name]():
            print(row, flush=True)
            missed += row.missed
    print(f"{missed} of the wanted figures missed" if missed else "nothing missed")
    return 0


def _one_processor() -> str:
    """Bind this process and its children to one processor; words about the machine."""
    load = f"load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "load unknown"
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
        return f"One of {os.cpu_count()} processors, {load}"
    return f"{os.cpu_count()} processors, not bound to one, {load}"


if __name__ == "__main__":
    sys.exit(main())
