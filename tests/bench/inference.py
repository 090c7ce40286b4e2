"""What is inferred from readings, and whole commands, on the demo case."""

from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

from calibration.case.file import read_case
from calibration.clean_fit.baseline import baseline_of, fit_baseline
from calibration.diagnosis.finding import find
from tests.bench.big_log import ROWS, settle_time_and_memory
from tests.bench.children import command
from tests.bench.rows import REPEATS, Row, least_time
from tests.bench.seasons import season_times
from tests.clean_visits import case_of_clean_visits

MANY_VISITS = 60
MANY = f"a case of {MANY_VISITS} clean visits"
DEMO = Path(__file__).parents[2] / "cases" / "demo.toml"
COMMANDS = (
    (("--help",), 0.3),
    (("measure", str(DEMO)), 1.0),
    (("predict", str(DEMO)), 1.0),
)
"""Commands, and the time that each may take warm [s]."""


def commands() -> Iterator[Row]:
    """Whole commands as processes of their own, files and tables read before."""
    with TemporaryDirectory() as folder:
        visits = case_of_clean_visits(Path(folder), MANY_VISITS)
        for words, wanted in (*COMMANDS, (("measure", visits), 5.0)):
            command(words)
            seconds = min(command(words).seconds for _ in range(REPEATS))
            shown = " ".join(Path(word).name for word in words)
            yield Row(f"coiltoll {shown.replace(Path(visits).name, MANY)}, warm", seconds, "s", wanted)


def fit() -> Iterator[Row]:
    """The clean unit fitted to the demo's clean visit."""
    case = read_case(DEMO)
    seconds = least_time(lambda: fit_baseline(case.unit, list(case.clean_visits), case.instruments))
    yield Row("fit of the clean unit, one clean visit", seconds, "s", 0.5)


def match() -> Iterator[Row]:
    """The finding of a visit, pairs of faults and gross errors with it."""
    case = read_case(DEMO)
    baseline, visit = baseline_of(case), case.visits[-1]
    yield Row(
        "finding of a visit, warm", least_time(lambda: find(case, visit, baseline=baseline), 3), "s", 1.0
    )


def seasons() -> Iterator[Row]:
    """Seasons, intervals and whole units."""
    yield from season_times()


def settle() -> Iterator[Row]:
    """A log of a million rows."""
    seconds, megabytes = settle_time_and_memory()
    yield Row(f"coiltoll steady-state, {ROWS:,} rows, traces drawn", seconds, "s", 10.0)
    yield Row("largest memory of it", megabytes, "MB", 500.0)
