"""The same input gives the same output to the last digit, on one thread or two, whatever the seed of hashes.

With `--whole`, as in `.ci/run full`, every command runs, at first with tables of properties just built.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from dashboard.cli import COMMANDS
from tests.conftest import HANGING
from tests.made_logs import made_log, write_log
from tests.made_tracks import write_track_log

ROOT = Path(__file__).resolve().parent.parent
DEMO = str(ROOT / "cases" / "demo.toml")
HEAT_PUMP = str(ROOT / "cases" / "heat_pump.toml")
LONG = {"season", "interval"}  # take several seconds each; the report has both
NOT_OF_A_CASE = {"steady-state", "track", "study", "demo", "app", "report", "fleet", "plan"}
OF_A_CASE = [name for name in COMMANDS if name not in NOT_OF_A_CASE | LONG]

PROGRAM = """
import sys
from dashboard.cli import run
for words in sys.argv[1:]:
    print("##", words, flush=True)
    print("##", run(words.split()), flush=True)
"""


def run_all(commands: list[str], out: Path, **environment: str) -> tuple[dict[str, bytes], dict[str, bytes]]:
    """What each command prints, by its words, and what is written to a folder."""
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, *commands],
        cwd=ROOT, env=os.environ | environment, capture_output=True, timeout=HANGING, check=True,
    )  # fmt: skip
    assert done.stdout.count(b"\n## 0\n") == len(commands), done.stderr
    parts = done.stdout.replace(str(out).encode(), b"OUT").split(b"\n## 0\n")
    printed = dict(zip([words.replace(str(out), "OUT") for words in commands], parts, strict=False))
    return printed, {path.name: path.read_bytes() for path in out.iterdir()}


def few(table: Path, log: Path, out: Path) -> list[str]:
    """Commands that stand for the rest: readings, a fit with its draws, a table, a picture."""
    return [
        f"measure {DEMO}",
        f"compare {DEMO} --json",
        f"predict {DEMO} --conditions {table} -o {out}/table.csv",
        f"steady-state {log} -o {out}/traces.svg --json",
    ]


def every(table: Path, log: Path, days: Path, out: Path) -> list[str]:
    """Every command that ends by itself within seconds, a log of days, and the report."""
    of_a_case = [f"{command} {HEAT_PUMP if command == 'heating' else DEMO} --json" for command in OF_A_CASE]
    of_a_case += [f"track {DEMO} {days} --json"]
    return [*of_a_case, *few(table, log, out), f"report {DEMO} -o {out}/report.pdf --json"]


@pytest.fixture(scope="module")
def outputs(tmp_path_factory, pytestconfig):
    """What commands print and write under two sets of circumstances."""
    whole = pytestconfig.getoption("--whole")
    given = tmp_path_factory.mktemp("given")
    log = write_log(given / "log.csv", made_log())
    table = given / "given.csv"
    table.write_text("outdoor_db,return_db,return_wb,condenser_blocked\n95,80,67,0\n110,80,72,0.5\n", "utf-8")
    days = write_track_log(given / "days.csv", days=7, level=0.03) if whole else log
    tables = {"COILTOLL_CACHE": str(tmp_path_factory.mktemp("cold"))} if whole else {}
    found = {}
    for number, threads in enumerate(("1", "2")):
        out = tmp_path_factory.mktemp("out")
        counts = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), threads)
        commands = every(table, log, days, out) if whole else few(table, log, out)
        found[threads] = run_all(commands, out, **counts, **tables, PYTHONHASHSEED=str(number + 1))
    return found


def test_outputs_are_the_same_to_the_last_digit(outputs, pytestconfig):
    """One thread or two, another seed of hashes; with `--whole` tables just built, then read from a file."""
    (first_printed, first_files), (printed, files) = outputs.values()
    for words, text in printed.items():
        assert text == first_printed[words], words
    report = {"report.pdf"} if pytestconfig.getoption("--whole") else set()
    assert set(files) == {"traces.svg", "table.csv"} | report
    for file, content in files.items():
        assert content == first_files[file], file
