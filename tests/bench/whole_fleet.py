"""A made fleet from its table to its plan, measured: `python -m tests.bench.whole_fleet --units 1000`.

Seconds a unit on one worker, largest memory, two workers over one, a run that is killed twice and taken up
again, two workers of a Dask cluster of which one is killed, the plan beside simple ones, and how near growth
rates are to the true ones. Times hold for the machine and its load; bytes must be the same everywhere.
"""

import argparse
import csv
import json
import math
import os
import resource
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from dashboard.commands.demo import DEMO_CASE
from tests.bench.children import command
from tests.bench.rows import HEADING, Row

ASKED_EVERY = 0.2
"""Time between two looks at how far a run is [s]."""
KILLED_AT = (0.3, 0.8)
"""Parts of its lines after which a run is killed [-]."""
RATIO_WANTED = 1.8
CHANGED = {"energy_price": "energy_price = 0.26", "price": "price = 75"} | dict.fromkeys(
    ("growth_form", "growth_rate", "bursts", "last_cleaned"), ""
)
"""Lines of the demo that a contractor's case has otherwise: dearer electricity, a cleaning without the way
there, which the plan pays once a site and day, and no growth of its own, so that units tell theirs."""
PLANNED_FROM = "2027-03-01"
"""First day of the plan: a cleaning pays towards summer."""


def main(argv: Sequence[str] | None = None) -> int:
    """Print the table; 1 where a run that was killed ends with other bytes."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.whole_fleet", description=__doc__)
    parser.add_argument("--units", type=int, default=1000)
    parser.add_argument("--folder", type=Path, help="where tables are kept; a temporary one by default")
    parser.add_argument("--dask", action="store_true", help="also two workers of a Dask cluster, one killed")
    words = parser.parse_args(argv)
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ[name] = "1"
    print(f"{words.units} units, {os.cpu_count()} processors, load {os.getloadavg()[0]:.1f}")
    print(HEADING)
    with tempfile.TemporaryDirectory(prefix="coiltoll-") as made:
        folder = words.folder or Path(made)
        folder.mkdir(parents=True, exist_ok=True)
        return _measured(folder, words.units, words.dask)


def _measured(folder: Path, units: int, dask: bool) -> int:
    visits, like = folder / "visits.csv", folder / "like.toml"
    lines = DEMO_CASE.read_text("utf-8").splitlines()
    like.write_text("\n".join(CHANGED.get(line.split(" = ")[0], line) for line in lines), "utf-8")
    command(["study", "fleet", "--units", str(units), "-o", str(visits)])
    one, two = folder / "one.csv", folder / "two.csv"
    before = _processor_seconds()
    first = command(_words(visits, one, 1))
    used = _processor_seconds() - before
    second = command(_words(visits, two, 2))
    told(Row("one worker, a unit", first.seconds / units, "s"))
    told(Row("one worker, a unit, processor time", used / units, "s"))
    told(Row("one worker, largest memory", first.megabytes, "MB"))
    told(Row("two workers, largest memory of a process", second.megabytes, "MB"))
    told(Row("two workers over one", first.seconds / second.seconds, "", RATIO_WANTED, least=True))
    told(Row("table of results, a unit", one.stat().st_size / units, "bytes"))
    whole = one.read_bytes()
    alike = {
        "two workers": two.read_bytes() == whole,
        "killed twice and taken up again": _killed(visits, folder / "killed.csv", units) == whole,
    }
    if dask:
        alike["Dask, a worker killed"] = _by_dask(visits, folder / "dask.csv", units) == whole
    for what, same in alike.items():
        print(f"{what}: {'the same bytes' if same else 'OTHER BYTES'}", flush=True)
    _planned(one)
    _rates(one, folder / "visits-truth.csv")
    return 0 if all(alike.values()) else 1


def _processor_seconds() -> float:
    """Processor time of all programs that were started and have ended [s]."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def told(row: Row) -> None:
    """Print a line at once."""
    print(row, flush=True)


def _words(visits: Path, table: Path, workers: int) -> list[str]:
    like = visits.with_name("like.toml")
    return ["fleet", str(visits), "-o", str(table), "--like", str(like), "--workers", str(workers), "--json"]


def _killed(visits: Path, table: Path, units: int) -> bytes:
    """The table of a run that was killed with all its workers at some points, and taken up again."""
    for part in KILLED_AT:
        _run_until(_words(visits, table, 2), table, part * 2 * units, _kill)
    command(_words(visits, table, 2))
    return table.read_bytes()


def _run_until(
    words: Sequence[str], table: Path, lines: float, then: Callable[[subprocess.Popen[bytes]], None]
) -> subprocess.Popen[bytes]:
    """A run in a session of its own, and what is done with it once so many lines of its journal are there."""
    run = subprocess.Popen(
        [sys.executable, "-c", f"import sys; from dashboard.cli import run; sys.exit(run({list(words)!r}))"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    journal = table.with_name(table.name + ".journal")
    while run.poll() is None and _lines(journal) < lines:
        time.sleep(ASKED_EVERY)
    then(run)
    return run


def _lines(journal: Path) -> int:
    return journal.read_bytes().count(b"\n") if journal.is_file() else 0


def _kill(run: subprocess.Popen[bytes]) -> None:
    """End a run and its workers at once."""
    if run.poll() is None:
        os.killpg(run.pid, signal.SIGKILL)
    run.wait()


def _by_dask(visits: Path, table: Path, units: int) -> bytes:
    """The table by two workers on this computer's own address, one of which is killed on the way."""
    from distributed import LocalCluster

    with LocalCluster(n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address=None) as cluster:
        victim = cluster.workers[0].process.process.pid
        words = [*_words(visits, table, 1), "--scheduler", cluster.scheduler_address]
        run = _run_until(words, table, 0.5 * units, lambda _: os.kill(victim, signal.SIGKILL))
        run.wait()
    return table.read_bytes()


def _planned(table: Path) -> None:
    """The plan of half a year, and what simple ones gain."""
    words = ["plan", str(table), "--crews", "2", "--from", PLANNED_FROM, "--weeks", "26", "--json"]
    done = command([*words, "-o", str(table.with_name("plan.csv"))])
    found: dict[str, Any] = json.loads(done.told)
    told(Row("plan of 26 weeks", done.seconds, "s"))
    told(Row("plan, jobs", found["planned"], ""))
    told(Row("plan, gain", found["gained"], found["currency"]))
    told(Row("plan, gap to the bound", 100.0 * found["gap"], "%"))
    for name, other in found["others"].items():
        told(Row(f"{name.replace('_', ' ')}, gain", other["gained"], found["currency"]))


def _rates(table: Path, truth: Path) -> None:
    """Errors of growth rates: what the table has, and each unit's own level over its time alone."""
    true = {row["unit"]: float(row["true_rate"]) for row in _rows(truth)}
    rows = [row for row in _rows(table) if row["growth_rate"]]
    read = [row for row in rows if float(row["grown_level"] or 0.0) > 0.0 and row["years_since_clean"]]
    alone = [(row, float(row["grown_level"]) / float(row["years_since_clean"])) for row in read]
    own = [math.log(rate / true[row["unit"]]) for row, rate in alone]
    for words, errors in (
        ("growth rates of units that were read, by the table", _off(read, true)),
        ("the same by the unit's own level alone", own),
        ("growth rates of units that were not read", _off([row for row in rows if row not in read], true)),
    ):
        if errors:
            told(Row(f"{words}, error of logarithm", math.sqrt(sum(e * e for e in errors) / len(errors)), ""))


def _off(rows: Sequence[dict[str, str]], true: dict[str, float]) -> list[float]:
    return [math.log(float(row["growth_rate"]) / true[row["unit"]]) for row in rows]


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


if __name__ == "__main__":
    sys.exit(main())
