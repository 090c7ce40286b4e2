"""Time and memory of `coiltoll steady-state` for a million rows: `python -m tests.bench.big_log`.

The target is under 10 s and under 500 MB. Children are measured by the system's own accounts.
"""

import tempfile
from pathlib import Path

from tests.bench.children import command
from tests.made_logs import made_log, write_log

ROWS = 1_000_000


def settle_time_and_memory(rows: int = ROWS, *, picture: bool = True) -> tuple[float, float]:
    """Time [s] and largest memory [MB] of one `coiltoll steady-state` on an invented log, a row a second."""
    with tempfile.TemporaryDirectory() as folder:
        log = write_log(Path(folder) / "log.csv", made_log(rows, interval=1.0))
        words = ["steady-state", str(log), "--json"]
        if picture:
            words += ["-o", str(Path(folder) / "traces.svg")]
        done = command(words)
        return done.seconds, done.megabytes


def main() -> None:
    for rows in (10_000, 100_000, ROWS):
        seconds, megabytes = settle_time_and_memory(rows)
        print(f"steady-state, {rows:>9,} rows, traces drawn: {seconds:6.2f} s, {megabytes:5.0f} MB")


if __name__ == "__main__":
    main()
